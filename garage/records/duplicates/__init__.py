"""Records that may be one: found with reasons, decided by a person."""
