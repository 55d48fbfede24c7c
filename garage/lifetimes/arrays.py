"""Names for the array types that the statistics take and return."""

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
WholeArray = NDArray[np.int32] | NDArray[np.int64]
BoolArray = NDArray[np.bool_]
