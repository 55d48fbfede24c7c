"""Charts: one Vega-Lite specification each, with its summary, its key and its numbers."""
