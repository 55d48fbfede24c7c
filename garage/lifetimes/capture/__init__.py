"""Which share of failures comes to be seen at all."""
