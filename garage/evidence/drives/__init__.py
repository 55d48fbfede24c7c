"""Sequences from a drive or a burn: soot per distance, reach, burns judged, burn intervals."""
