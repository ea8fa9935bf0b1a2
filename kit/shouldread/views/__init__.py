"""Screens: the bench in a notebook, its saved copies, and pictures. They show what other rooms say."""

from shouldread.views.bench import Bench, bench
from shouldread.views.courses import arrivals, course_plot
from shouldread.views.fault_strip import fault_strip
from shouldread.views.plots import Plot, node_strip, road_plot

__all__ = ["Bench", "Plot", "arrivals", "bench", "course_plot", "fault_strip", "node_strip", "road_plot"]
