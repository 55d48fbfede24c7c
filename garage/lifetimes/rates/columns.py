"""Columns that hold one value a group, as arrays of one length."""

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import BoolArray, FloatArray
from garage.lifetimes.life_rows import refuse_shape


def columns_of(**named: ArrayLike) -> tuple[FloatArray, ...]:
    """Columns as float64, shape (n,), in the order given; a ValueError names one of other shape.

    Examples
    --------
    >>> failed, n = columns_of(failed=[1, 0], n=[8, 5])
    >>> failed.tolist(), n.tolist()
    ([1.0, 0.0], [8.0, 5.0])
    """
    columns = {name: np.atleast_1d(np.asarray(each, np.float64)) for name, each in named.items()}
    size = next(iter(columns.values())).size
    for name, column in columns.items():
        refuse_shape(name, column, (size,))
    return tuple(columns.values())


def no_count(values: FloatArray) -> BoolArray:
    """Which values are not whole numbers of 0 or more.

    Examples
    --------
    >>> no_count(np.array([0, 2, 1.5, -1, np.inf])).tolist()
    [False, False, True, True, True]
    """
    return np.asarray(~((values >= 0) & (values == np.floor(values)) & np.isfinite(values)), bool)
