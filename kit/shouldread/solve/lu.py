"""Gaussian elimination with row exchange, made to pass over the zeros that circuits are full of (numba)."""

import numpy as np

from shouldread.parts.laws.kernel import kernel


@kernel
def factor(A, order):
    """LU in place, ``order`` gets the row exchanges. Returns the sign of the determinant, 0 when singular."""
    n = A.shape[0]
    sign = 1.0
    for k in range(n):
        best, row = 0.0, k
        for i in range(k, n):
            size = abs(A[i, k])
            if size > best:
                best, row = size, i
        order[k] = row
        if best == 0.0 or not np.isfinite(best):
            return 0.0
        if row != k:
            sign = -sign
            for j in range(n):
                A[k, j], A[row, j] = A[row, j], A[k, j]
        pivot = A[k, k]
        if pivot < 0.0:
            sign = -sign
        for i in range(k + 1, n):
            if A[i, k] != 0.0:
                m = A[i, k] / pivot
                A[i, k] = m
                for j in range(k + 1, n):
                    A[i, j] -= m * A[k, j]
    return sign


@kernel
def substitute(A, order, b):
    """Solve in place with a factored matrix."""
    n = b.size
    for k in range(n):
        row = order[k]
        if row != k:
            b[k], b[row] = b[row], b[k]
    for i in range(n):
        total = b[i]
        for j in range(i):
            if A[i, j] != 0.0:
                total -= A[i, j] * b[j]
        b[i] = total
    for i in range(n - 1, -1, -1):
        total = b[i]
        for j in range(i + 1, n):
            if A[i, j] != 0.0:
                total -= A[i, j] * b[j]
        b[i] = total / A[i, i]


@kernel
def substitute_transposed(A, order, b):
    """Solve the transposed system in place with the same factors (row by row, past the zeros)."""
    n = b.size
    for j in range(n):
        if b[j] != 0.0:
            b[j] /= A[j, j]
            for i in range(j + 1, n):
                b[i] -= A[j, i] * b[j]
    for j in range(n - 1, -1, -1):
        if b[j] != 0.0:
            for i in range(j):
                b[i] -= A[j, i] * b[j]
    for k in range(n - 1, -1, -1):
        row = order[k]
        if row != k:
            b[k], b[row] = b[row], b[k]
