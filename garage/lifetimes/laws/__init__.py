"""Laws of life with a few parameters, fitted to lives."""
