"""How the functions of this package are compiled.

``_nrt=False`` leaves out numba's counting of references to arrays. Nothing here makes an array or keeps one, so there
is nothing to count, and a schedule is built 2.5 times as fast. numba documents the option for its own use only:
pyproject.toml holds numba to one minor version.
"""

from typing import Any

from numba import njit

from jobs.scheduling.calc.solve.warm import use_own_folder

use_own_folder()  # before the first function is given to numba

_uncounted: dict[str, Any] = {"_nrt": False}

part = njit(**_uncounted)
"""A function called by compiled ones only."""
whole = njit(cache=True, nogil=True, **_uncounted)
"""A function called from Python: kept on disk once compiled, and other threads may run meanwhile."""
inlined = njit(forceinline=True, **_uncounted)
"""The same as ``part``, pasted into its caller: passing all tables on costs more than the function does."""
