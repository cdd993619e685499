"""Runs on the board: `board.py` beside it is the board's own file from scalewright_device/boards."""

from board import assemble

from scalewright_device.maintenance import run

run(assemble())
