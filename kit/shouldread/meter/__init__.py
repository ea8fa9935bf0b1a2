"""The meter room."""
