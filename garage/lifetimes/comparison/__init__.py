"""Whether groups differ, and how many of many differences are chance."""
