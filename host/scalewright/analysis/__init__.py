"""What observations say: curves, their uncertainty, and how far to believe them."""
