from garage.background.models.queued_work import QueuedWork

__all__ = ["QueuedWork"]
