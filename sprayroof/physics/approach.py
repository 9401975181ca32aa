"""How a temperature difference dies away along an exchanger."""

from __future__ import annotations

import math

from sprayroof.physics.compiled import elementwise

SMALL_NTU = 1e-3


@elementwise
def approach_frac(ntu):
    """Mean along the way of what is left of a difference that dies away as exp(-N x), x from 0 to 1.

    Parameters
    ----------
    ntu : float or array
        Number of transfer units N [1], 0 or more.

    Returns
    -------
    float or array
        (1 - exp(-N))/N [1]; times N it is the effectiveness.

    Notes
    -----
    Below 1e-3 by its series, to 4e-11; the library's expm1 takes several times as long as exp.
    """
    if ntu < SMALL_NTU:
        return 1.0 - ntu * (0.5 - ntu / 6.0)
    return (1.0 - math.exp(-ntu)) / ntu
