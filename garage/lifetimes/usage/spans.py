"""Times over which a vehicle's distance is spoken of; light, for those who need no more."""

SHORTEST_YEARS = 0.25
"""Years; over shorter times the scatter of the logarithm grows no further: a few days' driving
has no log-normal law. Judgement, no source."""
