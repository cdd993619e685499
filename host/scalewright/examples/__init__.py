"""Recorded data that comes with the toolkit; README.md beside this file says where each set is from."""

import os

EXAMPLES = {"pontius": "pontius.csv"}
"""the name of an example, and the observations file that holds it"""


def example_path(name: str) -> str:
    """Return the path of a file that lies in this folder."""
    return os.path.join(os.path.dirname(__file__), name)
