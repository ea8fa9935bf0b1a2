"""Device laws as numba kernels; imported by the solver only."""
