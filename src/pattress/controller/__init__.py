"""What runs on the board. Imports nothing from the rest of pattress."""
