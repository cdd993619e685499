"""Random numbers that are the same on every runtime for the same seed."""

_MASK = 0xFFFFFFFF


class RandomNumbers:
    """32-bit xorshift, triple 13, 17, 5 (G. Marsaglia, "Xorshift RNGs", J. Stat. Softw. 8 (2003), no. 14)."""

    def __init__(self, seed):
        # Neighbouring seeds must not give neighbouring numbers; 0 is the one state that is not allowed.
        self.state = (seed * 0x9E3779B1 + 0x7F4A7C15) & _MASK or 1

    def bits(self):
        """Return 32 random bits, never all 0."""
        x = self.state
        x ^= x << 13 & _MASK
        x ^= x >> 17
        x ^= x << 5 & _MASK
        self.state = x
        return x

    def normal(self):
        """Return a nearly normal number of mean 0 and variance 1, within -6 .. 6: the sum of 12 uniform ones."""
        total = 0
        for _ in range(6):
            bits = self.bits()
            total += (bits >> 16) + (bits & 0xFFFF)
        return (total + 6) / 65536 - 6  # + 6: each of the twelve stands for the middle of its interval

    def happens(self, parts_per_million):
        """Is it so, this time? True in so many cases of a million."""
        return self.bits() % 1000000 < parts_per_million
