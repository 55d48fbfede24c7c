"""Curves over the clock that follow the lives themselves, without a law."""
