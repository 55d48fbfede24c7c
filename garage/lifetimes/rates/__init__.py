"""Rates and shares with limits, single and shrunk to their group."""
