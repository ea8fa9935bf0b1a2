"""The repair room."""
