"""Everything an organisation owns, taken out again."""
