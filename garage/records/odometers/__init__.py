"""Which odometer readings can be believed, what would mend the others, and distances in between."""
