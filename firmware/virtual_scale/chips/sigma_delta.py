"""What the sigma-delta converters have in common: a filter that takes four conversions to settle, and noise."""

import math

SPAN = 1 << 23


class SigmaDelta:
    """Conversions of an input; in between they are those of a fourth-order sinc filter.

    That is 1, 11, 11, 1 of 24 parts of the last four inputs. The datasheets of these chips give the time to settle; the
    kind of the filter is assumed.
    """

    def __init__(self, random_numbers):
        self._random_numbers = random_numbers
        self.forget()

    def forget(self):
        """Begin as after power-up."""
        self._inputs = [0.0, 0.0, 0.0]

    def settle(self, signal):
        """Let the input have been this for long."""
        self._inputs = [signal, signal, signal]

    def convert(self, signal, noise):
        """Return the filtered input with noise of this standard deviation, all as parts of full scale."""
        a, b, c = self._inputs
        self._inputs = [signal, a, b]
        return (signal + 11 * a + 11 * b + c) / 24 + self._random_numbers.normal() * noise


def clipped(counts):
    """Return the nearest of the 2**24 codes, as a signed int."""
    return min(max(math.floor(counts + 0.5), -SPAN), SPAN - 1)
