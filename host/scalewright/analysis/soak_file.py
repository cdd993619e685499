"""A recording in a file, as arrays."""

import os

import numpy as np

from scalewright.analysis.soak import Soak
from scalewright.errors import InputError
from scalewright.recording_reader import NO_COUNT, read_pieces


def read_soak(path: str | os.PathLike[str]) -> Soak:
    """Return the readings in a recording that have counts.

    Raises InputError where the file cannot be used, or does not say which load was on.
    """
    pieces = list(read_pieces(path))
    time_s, counts, temperature_c, load_g = (
        np.concatenate([np.asarray(piece[k]) for piece in pieces]) for k in range(4)
    )
    has_counts = counts != NO_COUNT
    if np.any(np.isnan(load_g[has_counts])):
        raise InputError(
            "load_g is empty; expected the load at every reading, 0 for none",
            file=os.fspath(path),
            remedy="fill the column in, or record with --load or --step",
        )
    columns = (time_s, counts.astype(np.float64), temperature_c, load_g)
    try:
        return Soak(*(column[has_counts] for column in columns))
    except InputError as error:
        raise InputError(error.message, file=os.fspath(path), remedy=error.remedy) from error
