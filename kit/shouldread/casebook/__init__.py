"""The casebook room."""
