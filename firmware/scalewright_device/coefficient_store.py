"""The encoded coefficient record in use, in two slots."""

from scalewright_device.two_slots import TwoSlots
from shared_calc.coefficient_record import SIZE

_SLOTS = ("coefficients_a.bin", "coefficients_b.bin")


class CoefficientStore(TwoSlots):
    """`data`, the record (None: none), `sequence`, how many were stored, and `save(data)`, as in TwoSlots."""

    def __init__(self, folder, open_file=open):
        super().__init__([folder + name for name in _SLOTS], SIZE, open_file)
