"""numpy, loaded when it is first asked for something, and the kinds of array there are.

Most macros are small, refuse nothing and round no corner, and then nothing is asked of it: loading it would take as
long as all the rest of a check.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]
    Flags = npt.NDArray[np.bool_]
    Whole = npt.NDArray[np.intp]
    Small = npt.NDArray[np.int8]
else:
    Array = Flags = Whole = Small = Any

    class _Numpy:
        def __getattr__(self, name: str) -> object:
            value = getattr(import_module("numpy"), name)
            setattr(self, name, value)  # the next time it is there
            return value

    np = _Numpy()

__all__ = ["Array", "Flags", "Small", "Whole", "np"]
