"""The controller's own page and its forms, for a browser in the home."""
