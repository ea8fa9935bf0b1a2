"""The drawing room."""
