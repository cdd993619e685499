"""Assembles on the PC what MicroPython's rp2.asm_pio assembles on a board, as far as our program needs it.

Encodings: RP2040 Datasheet (Raspberry Pi), chapter 3.4, "Instruction Set". Every instruction has a side set of one bit.
"""

import types
from collections.abc import Callable
from typing import NamedTuple

_JMP, _WAIT, _IN, _PUSH, _PULL, _MOV, _SET = 0x0000, 0x2000, 0x4000, 0x8000, 0x8080, 0xA000, 0xE000
_SIDE = 12
_DELAY = 8
_PLACES = {"pins": 0, "x": 1, "y": 2, "isr": 6, "osr": 7}
_CONDITIONS = {"always": 0, "not_x": 1, "x_dec": 2, "not_y": 3, "y_dec": 4}
_BLOCK = 1 << 5


class Program(NamedTuple):
    opcodes: list[int]
    wrap_target: int
    wrap_top: int


class _Instruction:
    """An opcode that `side` and `[delay]` complete."""

    def __init__(self, opcode: int) -> None:
        self.opcode = opcode
        self.label: str | None = None

    def side(self, level: int) -> "_Instruction":
        self.opcode |= level << _SIDE
        return self

    def __getitem__(self, delay: int) -> "_Instruction":
        self.opcode |= delay << _DELAY
        return self


def assemble(source: Callable[[], None]) -> Program:
    """Return the program that a function undecorated by rp2.asm_pio describes."""
    instructions: list[_Instruction] = []
    places: dict[str, int] = {}

    def add(opcode: int) -> _Instruction:
        instructions.append(_Instruction(opcode))
        return instructions[-1]

    def jmp(condition: str, label: str | None = None) -> _Instruction:
        jump = add(_JMP | _CONDITIONS[condition if label else "always"] << 5)
        jump.label = label or condition
        return jump

    names = {
        "label": lambda name: places.update({name: len(instructions)}),
        "wrap_target": lambda: places.update({"wrap_target": len(instructions)}),
        "wrap": lambda: places.update({"wrap": len(instructions) - 1}),
        "jmp": jmp,
        "nop": lambda: add(_MOV | _PLACES["y"] << 5 | _PLACES["y"]),
        "wait": lambda level, _, index: add(_WAIT | level << 7 | 1 << 5 | index),
        "in_": lambda place, bits: add(_IN | _PLACES[place] << 5 | bits),
        "mov": lambda to, of: add(_MOV | _PLACES[to] << 5 | _PLACES[of]),
        "set": lambda place, value: add(_SET | _PLACES[place] << 5 | value),
        "push": lambda how: add(_PUSH | how),
        "pull": lambda how: add(_PULL | how),
        "block": _BLOCK,
        "noblock": 0,
        "pin": "pin",
        **{name: name for name in (*_PLACES, *_CONDITIONS)},
    }
    types.FunctionType(source.__code__, names)()
    opcodes = [one.opcode | (places[one.label] if one.label else 0) for one in instructions]
    return Program(opcodes, places.get("wrap_target", 0), places.get("wrap", len(opcodes) - 1))
