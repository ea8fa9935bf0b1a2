"""e to a power in a form that compiles to vector instructions (the library's is a call, one number at a time)."""

import numpy as np

from shouldread.parts.laws.kernel import kernel

_PER_OCTAVE = 1.4426950408889634  # 1 / ln 2
_ROUND = 6755399441055744.0  # 1.5 x 2**52: added and taken away again, it leaves a whole number
_LN2_HIGH, _LN2_LOW = 0.693147180369123816490, 1.90821492927058770002e-10  # ln 2 in two parts, the first with few bits


@kernel
def exp(z):
    """e**z for -700 <= z <= 700, to 1.5 units in the last place.

    z = k ln 2 + r with |r| < 0.35 (Cody and Waite 1980); Taylor's series of e**r to r**13, whose rest is below 1e-17;
    2**k is set as the exponent of a number.
    """
    shifted = z * _PER_OCTAVE + _ROUND
    k = shifted - _ROUND
    r = (z - k * _LN2_HIGH) - k * _LN2_LOW
    s = r * r
    low = (1.0 / 2.0 + r * (1.0 / 6.0)) + s * (1.0 / 24.0 + r * (1.0 / 120.0))
    mid = (1.0 / 720.0 + r * (1.0 / 5040.0)) + s * (1.0 / 40320.0 + r * (1.0 / 362880.0))
    top = (1.0 / 3628800.0 + r * (1.0 / 39916800.0)) + s * (1.0 / 479001600.0 + r * (1.0 / 6227020800.0))
    series = low + (s * s) * (mid + (s * s) * top)
    power = np.int64((np.float64(shifted).view(np.int64) + np.int64(1023)) << np.int64(52)).view(np.float64)
    return (1.0 + (r + s * series)) * power
