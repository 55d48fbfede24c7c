"""What the records tell the layers above them, which they know nothing of."""

from django.dispatch import Signal

#: Facts of vehicles changed, their engine families among them, and what follows in the records is
#: derived; sent inside the transaction, with `vehicle_ids`, some hundreds at most.
vehicles_settled = Signal()
