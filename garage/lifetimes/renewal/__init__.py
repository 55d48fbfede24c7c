"""Counts of failures where each failed part is replaced."""
