"""The mass pieces on the bench, some of which are not what their mark says."""


class Pieces:
    """What each piece really is. A mark is the nominal grams and a `*` for each star: `200*` is the second 200 g.

    Stars: OIML R 111-1:2004, 14, on sets that hold two or three masses of one nominal value; from memory.
    """

    def __init__(self):
        self._errors_g = {}

    def set_error(self, mark, error_g):
        """Let the piece of this mark be so much heavier than it says. Raises ValueError where it is no mark."""
        piece = _read(mark)
        if not piece[0] > 0:
            raise ValueError(mark)
        self._errors_g[piece] = error_g

    def mass_g(self, marks):
        """Return what really stands on the pan where somebody puts on `500+200+200*`. Raises ValueError."""
        total_g = 0.0
        for mark in _split(marks):
            piece = _read(mark)
            total_g += piece[0] + self._errors_g.get(piece, 0.0)
        return total_g

    def wrong(self):
        """Return (mark, error in g) of each piece that is not what it says."""
        errors_g = self._errors_g
        return [("%g" % piece[0] + "*" * piece[1], errors_g[piece]) for piece in sorted(errors_g) if errors_g[piece]]


def _split(marks):
    """A plus sign may also lead a number or its exponent: IEEE 488.2, 7.7.2."""
    return marks.strip().upper().lstrip("+").replace("E+", "E").split("+")


def _read(mark):
    bare = mark.strip().rstrip("*")
    return float(bare), len(mark.strip()) - len(bare)
