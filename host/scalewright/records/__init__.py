"""What happened, kept for good: an append-only journal, each entry linked to the one before by its hash."""

DEFAULT_FILE = "scalewright.sqlite"
"""Where the commands keep records when no file is named: in the current folder."""
