"""The views room."""
