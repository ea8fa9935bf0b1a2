"""Factoring and substituting many lanes at once along one plan (numba). Arrays are (entry or row, lane)."""

from shouldread.parts.laws.kernel import kernel


@kernel
def eliminate(A, f, plan, first, last):
    """Eliminate pivots first to last - 1 in all lanes, the right-hand side with them. Pivots are kept inverted."""
    lanes = A.shape[1]
    at = plan.at
    for k in range(first, last):
        p = plan.order[k]
        d = at[p, p]
        for i in range(lanes):
            A[d, i] = 1.0 / A[d, i]
        for x in range(plan.below_start[k], plan.below_start[k + 1]):
            r = plan.below[x]
            m = at[r, p]
            for i in range(lanes):
                A[m, i] *= A[d, i]
                f[r, i] -= A[m, i] * f[p, i]
            for y in range(plan.beside_start[k], plan.beside_start[k + 1]):
                c = plan.beside[y]
                t, u = at[r, c], at[p, c]
                for i in range(lanes):
                    A[t, i] -= A[m, i] * A[u, i]


@kernel
def forward(A, f, plan, first, last):
    """Carry another right-hand side through pivots that are eliminated already."""
    lanes = A.shape[1]
    for k in range(first, last):
        p = plan.order[k]
        for x in range(plan.below_start[k], plan.below_start[k + 1]):
            r = plan.below[x]
            m = plan.at[r, p]
            for i in range(lanes):
                f[r, i] -= A[m, i] * f[p, i]


@kernel
def backward(A, f, plan, first, last):
    """Solve for the unknowns of pivots last - 1 down to first, in place; those of later pivots stand in f already."""
    lanes = A.shape[1]
    for k in range(last - 1, first - 1, -1):
        p = plan.order[k]
        for y in range(plan.beside_start[k], plan.beside_start[k + 1]):
            c = plan.beside[y]
            u = plan.at[p, c]
            for i in range(lanes):
                f[p, i] -= A[u, i] * f[c, i]
        d = plan.at[p, p]
        for i in range(lanes):
            f[p, i] *= A[d, i]


@kernel
def transposed(A, f, plan):
    """Solve the transposed system in place with the factors of all pivots."""
    lanes, count = A.shape[1], plan.order.size
    for k in range(count):
        p = plan.order[k]
        d = plan.at[p, p]
        for i in range(lanes):
            f[p, i] *= A[d, i]
        for y in range(plan.beside_start[k], plan.beside_start[k + 1]):
            c = plan.beside[y]
            u = plan.at[p, c]
            for i in range(lanes):
                f[c, i] -= A[u, i] * f[p, i]
    for k in range(count - 1, -1, -1):
        p = plan.order[k]
        for x in range(plan.below_start[k], plan.below_start[k + 1]):
            r = plan.below[x]
            m = plan.at[r, p]
            for i in range(lanes):
                f[p, i] -= A[m, i] * f[r, i]


@kernel
def signs(A, plan, first, last, out):
    """Sign of the product of these pivots in each lane."""
    for k in range(first, last):
        d = plan.at[plan.order[k], plan.order[k]]
        for i in range(A.shape[1]):
            if A[d, i] < 0.0:
                out[i] = -out[i]
