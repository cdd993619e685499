"""Sealed or open; accepted or rejected: who may change what the scale shows, and whether it may be trusted.

Every event is counted, and on the medium, BEFORE the change it announces takes effect. A power cut in between leaves an
event too many, which can be asked about; the other way round it would leave a change that nobody can see.
"""

from scalewright_device.event_log import ACCEPTED, COEFFICIENTS, OPENED, OVERLOADED, REJECTED, SEALED, EventLog

_IS_SEALED, _IS_REJECTED, _IS_ACCEPTED = 1, 2, 4


class SealError(Exception):
    """The seal forbids it; the text says what would allow it."""


class NoSwitchError(Exception):
    """A seal that could not be opened again is not put on."""


class Seal:
    """The state of the seal and of the last verification, kept in an EventLog.

    opening_switch: `is_held()` is true while somebody holds it; None where the board has none. present(): returns the
    device time in s and the encoded coefficients in use, or None. Every method that changes something raises
    StorageError or OSError where its event cannot be stored; then nothing has changed. A state that was lost is taken
    for sealed, where a switch can open it.
    """

    def __init__(self, board, first, present):
        self._switch = board.opening_switch
        if_lost = 0 if self._switch is None else _IS_SEALED
        self.log = EventLog(board.folder, board.open, first, if_lost)
        self._present = present

    @property
    def is_sealed(self):
        return self.log.state & _IS_SEALED > 0

    @property
    def is_rejected(self):
        return self.log.state & _IS_REJECTED > 0

    def verification(self):
        """Return the result of the last verification: ACCEPTED, REJECTED or NONE."""
        return "REJECTED" if self.is_rejected else "ACCEPTED" if self.log.state & _IS_ACCEPTED else "NONE"

    def require_open(self):
        """Raise SealError where the device is sealed."""
        if self.is_sealed:
            raise SealError("sealed; open the seal first")

    def close(self):
        """Seal the device. Raises NoSwitchError."""
        if self._switch is None:
            raise NoSwitchError("this board has no opening switch")
        if not self.is_sealed:
            self._add(SEALED, self.log.state | _IS_SEALED)

    def open(self):
        """Open the device, which takes a hand on the switch. Raises SealError."""
        if not self.is_sealed:
            return
        if not self._switch or not self._switch.is_held():
            raise SealError("hold the opening switch meanwhile")
        self._add(OPENED, self.log.state & ~_IS_SEALED)

    def reject(self, remark):
        """Mark the scale as rejected until it is accepted. remark: why."""
        self._add(REJECTED, self.log.state & _IS_SEALED | _IS_REJECTED, remark=remark)

    def accept(self):
        """Note that the scale has passed its verification."""
        self._add(ACCEPTED, self.log.state & _IS_SEALED | _IS_ACCEPTED)

    def announce_coefficients(self, new):
        """Count that the coefficients are about to change; the last acceptance ends. Raises SealError."""
        self.require_open()
        self._add(COEFFICIENTS, self.log.state & ~_IS_ACCEPTED, new, self.log.remark)

    def note_overload(self):
        """Count that more was put on than the cell should bear."""
        self._add(OVERLOADED, self.log.state, remark=self.log.remark)

    def _add(self, reason, state, new=None, remark=""):
        time_s, old = self._present()
        self.log.add(time_s, reason, old, new or old, state, remark)
