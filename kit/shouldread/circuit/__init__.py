"""The circuit room."""
