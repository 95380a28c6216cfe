"""What the arrays of the reader hold."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.integer[Any]]  # references, rows, places in the text, counts
Floats = NDArray[np.floating[Any]]
Bools = NDArray[np.bool_]
Bytes = NDArray[np.uint8]
Eights = NDArray[np.uint64]  # eight bytes each, the first of them lowest
Keys = NDArray[np.uint32]  # one number for each class name
