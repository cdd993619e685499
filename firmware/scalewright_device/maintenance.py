"""Runs the device on a board, and lets go of it for those who have new firmware for it.

A watchdog that runs would bite in the middle of a copy. So an interrupt (Ctrl-C) then leaves a note in a file and
starts the board anew; the next start finds the note, takes it away and stays in the REPL without a watchdog.
"""

from scalewright_device.device import Device

_NOTE = "maintenance.txt"
_STAY = b"stay"


def run(board):
    """Work until KeyboardInterrupt; returns at once where a note says so."""
    if _read(board) == _STAY and _write(board, b""):  # a note that stays would keep the device from working for good
        return
    device = Device(board)
    try:
        device.run()
    except KeyboardInterrupt:
        if device.watchdog.is_running:
            _write(board, _STAY)
            board.reset()
        raise


def _read(board):
    try:
        with board.open(board.folder + _NOTE, "rb") as file:
            return file.read(len(_STAY))
    except OSError:
        return b""


def _write(board, content):
    """Return whether it could be written: on a full file system it may not."""
    try:
        with board.open(board.folder + _NOTE, "wb") as file:
            file.write(content)
    except OSError:
        return False
    return True
