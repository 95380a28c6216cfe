"""Each of many values once."""

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Number = TypeVar("Number", np.int64, np.float64)


def distinct(values: NDArray[Number], axis: int | None = None) -> NDArray[Number]:
    """Each value once, ascending; each row, where the axis is 0.

    Asked for the values alone, numpy would first start its library of masked arrays.
    """
    return np.unique(values, return_index=True, axis=axis)[0]
