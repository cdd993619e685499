"""Certificates: what a finished job in the journal proves, on paper, on a screen and for other programs."""
