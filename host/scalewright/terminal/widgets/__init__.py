"""Parts that several screens show."""
