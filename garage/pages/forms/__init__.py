"""The forms of the pages: what may be typed, in the words of the trade. They hold no rule."""
