"""The outcomes as a person reads them in a terminal."""
