"""The events that matter to whoever has to trust the scale: counted without end, the last ones kept with their reason.

Counter, state and events are one content in two slots of their own: a power cut leaves the counter at the old value or
the new one, and a coefficient slot that is lost does not turn it back. Three rules keep any number from coming twice:

1. A slot that is not whole stands for one event more: a cut may have met its writing, or it may have decayed later.
2. A number whose writing failed is not used for another event: part of it may stand in the file.
3. With both slots lost, the counter goes on from the number of coefficient records stored, each of which was an event.
"""

import struct

from scalewright_device.two_slots import TwoSlots

COEFFICIENTS, OPENED, SEALED, REJECTED, ACCEPTED, OVERLOADED = 1, 2, 3, 4, 5, 6
REASONS = ("", "COEFFICIENTS", "OPENED", "SEALED", "REJECTED", "ACCEPTED", "OVERLOADED")
EVENTS_KEPT = 12
REMARK_CHARACTERS = 40

_SLOTS = ("events_a.bin", "events_b.bin")
_HEAD = "<B%ds" % REMARK_CHARACTERS  # state, remark
_HEAD_BYTES = 1 + REMARK_CHARACTERS
_EVENT = "<IIB4s4s"  # number, device time in s, reason, CRC-32 of the coefficients before and after
_EVENT_BYTES = struct.calcsize(_EVENT)
SIZE = _HEAD_BYTES + EVENTS_KEPT * _EVENT_BYTES
_NO_COEFFICIENTS = bytes(4)


class EventLog:
    """`count`: events so far. `state`: bits, `remark`: text, as the last event left them.

    first: the least that the counter can be. if_lost: the state where both slots are damaged. `is_damaged`: at the
    start a slot was.
    """

    def __init__(self, folder, open_file, first, if_lost):
        slots = TwoSlots([folder + name for name in _SLOTS], SIZE, open_file)
        content = slots.data or bytes(SIZE)
        self._slots = slots
        self._events = content[_HEAD_BYTES:]
        self.is_damaged = slots.is_damaged
        self.count = max(slots.sequence + slots.is_damaged, first)
        self._last_used = self.count
        self.state = if_lost if slots.damaged == 2 else content[0]
        self.remark = content[1:_HEAD_BYTES].rstrip(b"\0").decode()

    def add(self, time_s, reason, old, new, state, remark):
        """Count an event and keep it. old, new: encoded coefficients or None; remark: REMARK_CHARACTERS at most.

        Raises StorageError or OSError: then nothing has changed, but for a number that will not be used.
        """
        self._last_used += 1
        event = struct.pack(_EVENT, self._last_used, time_s, reason, _crc(old), _crc(new))
        events = (event + self._events)[: EVENTS_KEPT * _EVENT_BYTES]
        self._slots.save(struct.pack(_HEAD, state, remark.encode()) + events, self._last_used)
        self._events, self.count, self.state, self.remark = events, self._last_used, state, remark

    def events(self):
        """Return the last events, newest first: (number, time_s, reason, identity before, identity after)."""
        found = []
        for start in range(0, len(self._events), _EVENT_BYTES):
            number, time_s, reason, old, new = struct.unpack(_EVENT, self._events[start : start + _EVENT_BYTES])
            if number:
                found.append((number, time_s, REASONS[reason], _identity(old), _identity(new)))
        return found


def _crc(data):
    return data[-4:] if data else _NO_COEFFICIENTS


def _identity(crc):
    return "none" if crc == _NO_COEFFICIENTS else "%08X" % struct.unpack("<I", crc)[0]
