"""What an uncertain measurement makes of a result: the accuracy of a meter, and its linear propagation.

Source: Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008), 4.3.7 for a limit that is known without
a distribution, 5.2.2 for correlated inputs.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

STEP = 1e-4
"""Step of the derivatives, in standard uncertainties: where the tangent is meant, yet far above rounding."""


def accuracy_limit(value: float, percent: float, last_digits: float) -> float:
    """Largest error of a reading by ±(percent of reading + last digits), the digits in the unit of the reading."""
    return abs(value) * percent / 100 + last_digits


def standard_uncertainty(limit: float) -> float:
    """Of an error that lies anywhere within ± the limit."""
    return limit / math.sqrt(3)


def propagated(function: Callable[[Array], Array], values: Array, covariance: Array) -> tuple[Array, Array]:
    """Results (m) of n uncertain values, and the covariance (m by m) of the results to first order.

    `covariance` is n by n, in the squared units of the values.
    """
    results = np.asarray(function(values), dtype=np.float64)
    columns = []
    for place, deviation in enumerate(np.sqrt(np.diag(covariance))):
        if deviation == 0:
            columns.append(np.zeros_like(results))
            continue
        step = np.zeros_like(values)
        step[place] = STEP * deviation
        columns.append((function(values + step) - function(values - step)) / (2 * STEP * deviation))
    jacobian = np.stack(columns, axis=-1)
    found: Array = jacobian @ covariance @ jacobian.T
    return results, found
