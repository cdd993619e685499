"""The coefficients and the scale they make, packed into the bytes that the device stores and the link carries.

Layout, little endian: b"SW", version, degree, shift, binary exponent, mantissa and power of ten of the division,
centre, Max in divisions, four coefficients (highest power first, unused ones 0), then of the temperature compensation
the reference in 1/16 C, lowest and highest temperature in C, counts at no load, z1, z2, s1, s2 (all 0: there is none),
CRC-32 of all that. The CRC identifies the coefficients wherever they are named: on the device, in a record, on a
certificate.
"""

import struct

from shared_calc.crc32 import crc32
from shared_calc.curve import Curve, CurveError, check
from shared_calc.temperature import Compensation, CompensationError

_FORMAT = "<2sBBBBBbiI4ihbb5i"
_VERSION = 1
_COEFFICIENTS = 9  # where they begin among the fields
_COMPENSATION = 13
_NO_COMPENSATION = (0, 0, 0, 0, 0, 0, 0, 0)
SIZE = struct.calcsize(_FORMAT) + 4


class CoefficientError(Exception):
    """The bytes are not a coefficient record that may be used to weigh."""


class CoefficientRecord:
    """A curve and its scale: the division d = mantissa * 10**power_of_ten grams, and Max = max_divisions * d.

    compensation: a shared_calc.temperature.Compensation that the counts pass before the curve, or None.
    """

    def __init__(self, curve, mantissa, power_of_ten, max_divisions, compensation=None):
        self.curve = curve
        self.mantissa = mantissa
        self.power_of_ten = power_of_ten
        self.max_divisions = max_divisions
        self.compensation = compensation


def encode(record):
    """Return SIZE bytes. Raises CoefficientError where the record may not be used."""
    _check(record)
    curve = record.curve
    degree = len(curve.coefficients) - 1
    compensation = record.compensation.fields if record.compensation else _NO_COMPENSATION
    data = struct.pack(
        _FORMAT,
        b"SW",
        _VERSION,
        degree,
        curve.shift,
        curve.binary_exponent,
        record.mantissa,
        record.power_of_ten,
        curve.centre,
        record.max_divisions,
        *(curve.coefficients + (0, 0)[: 3 - degree] + compensation)
    )
    return data + struct.pack("<I", crc32(data))


def decode(data):
    """Return the CoefficientRecord in SIZE bytes. Raises CoefficientError, saying what is wrong."""
    if len(data) != SIZE:
        raise CoefficientError("coefficient record of %d bytes, expected %d" % (len(data), SIZE))
    if struct.unpack("<I", data[-4:])[0] != crc32(data[:-4]):
        raise CoefficientError("coefficient record damaged: CRC does not match")
    fields = struct.unpack(_FORMAT, data[:-4])
    if fields[0] != b"SW" or fields[1] != _VERSION:
        raise CoefficientError("not a coefficient record of version %d" % _VERSION)
    degree = fields[2]
    if not 1 <= degree <= 3:
        raise CoefficientError("a curve has degree 1 to 3, not %d" % degree)
    end = _COEFFICIENTS + degree + 1
    if any(fields[end:_COMPENSATION]):
        raise CoefficientError("a curve of degree %d has no further coefficients" % degree)
    curve = Curve(fields[7], fields[3], fields[4], fields[_COEFFICIENTS:end])
    record = CoefficientRecord(curve, fields[5], fields[6], fields[8], _compensation(fields[_COMPENSATION:]))
    _check(record)
    return record


def identity(data):
    """Return the CRC-32 that names an encoded record, as 8 hexadecimal digits."""
    return "%08X" % struct.unpack("<I", data[-4:])[0]


def _compensation(fields):
    if not any(fields):
        return None
    try:
        return Compensation(*fields)
    except CompensationError as error:
        raise CoefficientError(str(error))


def _check(record):
    try:
        check(record.curve)
    except CurveError as error:
        raise CoefficientError(str(error))
    if record.mantissa not in (1, 2, 5) or not -9 <= record.power_of_ten <= 9:
        raise CoefficientError("the division must be 1, 2 or 5 times a power of ten from 10**-9 g to 10**9 g")
    if not 0 < record.max_divisions < 1 << 30 - record.curve.binary_exponent:
        raise CoefficientError("Max must lie between 1 d and what the curve can show")
