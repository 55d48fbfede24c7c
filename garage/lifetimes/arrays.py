"""Names for the array types that the statistics take and return."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
WholeArray = NDArray[np.integer[Any]]
BoolArray = NDArray[np.bool_]
