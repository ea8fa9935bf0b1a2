"""Screens: the bench in a notebook, its saved copies, and pictures. They show what other rooms say."""

from shouldread.views.bench import Bench, bench
from shouldread.views.plots import Plot, node_strip, road_plot

__all__ = ["Bench", "Plot", "bench", "node_strip", "road_plot"]
