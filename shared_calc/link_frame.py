"""A line with a frame around it: `~0042 READ?~1A2B3C4D~`.

A person types bare commands; a host adds a sequence number and a CRC-32, both in upper-case hexadecimal, so that a
damaged line is noticed and a repeated request is recognised. Lines sent unasked (readings) have `----` for a number.
The mark `~` occurs in no command and no answer, so a line that holds one is a frame or a damaged frame, never text;
and because a frame begins and ends with one, neither half of a frame torn by a stray line end can pass for a command.
"""

from shared_calc.crc32 import crc32

MARK = "~"
UNASKED = "----"
RESYNCHRONISE = 0  # a request with this number opens a conversation; it is never taken for a repeat
LAST_SEQUENCE = 0xFFFF


class FrameError(Exception):
    """The line has the mark of a frame but is damaged."""


def encode(sequence, text):
    """Return the framed line, without line end. sequence: 0..65535, or None for a line nobody asked for."""
    body = "%s %s" % (UNASKED if sequence is None else "%04X" % sequence, text)
    return "~%s~%08X~" % (body, crc32(body.encode()))


def decode(line):
    """Return (sequence or None, text). Raises FrameError on any damage."""
    parts = line.split(MARK)
    if len(parts) != 4 or parts[0] or parts[3]:
        raise FrameError("marks misplaced")
    body = parts[1]
    if parts[2] != "%08X" % crc32(body.encode()):
        raise FrameError("CRC does not match")
    number = body[:4]
    if body[4:5] != " ":
        raise FrameError("no sequence number")
    if number == UNASKED:
        return None, body[5:]
    for digit in number:
        if digit not in "0123456789ABCDEF":
            raise FrameError("no sequence number")
    return int(number, 16), body[5:]
