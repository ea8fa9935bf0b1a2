"""Tests of every room; what several of them share is imported as ``tests.<room>.<module>``."""
