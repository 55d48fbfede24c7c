"""The mathematics of lives: NumPy and SciPy only, nothing of vehicles, parts or databases."""
