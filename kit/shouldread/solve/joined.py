"""Which nodes hang together: the least number of each node's island (numba)."""

import numpy as np

from shouldread.parts.laws.kernel import kernel


@kernel
def _root(parent, node):
    while parent[node] != node:
        parent[node] = parent[parent[node]]
        node = parent[node]
    return node


@kernel
def islands_of(links, size):
    """links (L, 2) between node numbers: for each of ``size`` nodes the least number that it hangs together with."""
    parent = np.arange(size)
    for k in range(links.shape[0]):
        a, b = _root(parent, links[k, 0]), _root(parent, links[k, 1])
        if a < b:
            parent[b] = a
        elif b < a:
            parent[a] = b
    for node in range(size):
        parent[node] = _root(parent, node)
    return parent
