"""The exponential approach that exchangers, drops and stores share."""

from __future__ import annotations

import math

from sprayroof.physics.compiled import elementwise

EXPANDED_TO = 2.0


@elementwise
def mean_left_frac(ntu):
    """Mean of exp(-x) for x from 0 to N: the difference left on average by an exchanger of N transfer units.

    Parameters
    ----------
    ntu : float or array
        Transfer units N [1], 0 or more.

    Returns
    -------
    float or array
        (1 - exp(-N))/N [1], 1 at N = 0; N times it is the effectiveness.

    Notes
    -----
    Up to N = 2 from the diagonal Pade approximant of the exponential of fifth order (within 6e-11 up to N = 1, 4e-8 up
    to 2): one division, and nothing is lost to cancellation where N is small.
    """
    if ntu > EXPANDED_TO:
        return -math.expm1(-ntu) / ntu
    square = ntu * ntu
    even = 30240.0 + square * (3360.0 + 30.0 * square)
    odd = ntu * (15120.0 + square * (420.0 + square))
    return (30240.0 + square * (840.0 + 2.0 * square)) / (even + odd)
