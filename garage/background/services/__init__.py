from garage.background.services.enqueue import work_enqueue
from garage.background.services.requeue import work_requeue_unfinished
from garage.background.services.run import work_run

__all__ = ["work_enqueue", "work_requeue_unfinished", "work_run"]
