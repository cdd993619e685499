"""CRC-32/ISO-HDLC over bytes; check value 0xCBF43926 for b"123456789" (CRC catalogue, ISO 3309)."""

try:
    from binascii import crc32
except ImportError:  # the smallest boards have no binascii

    def crc32(data):
        crc = 0xFFFFFFFF
        for byte in data:
            crc ^= byte
            for _ in range(8):
                crc = (crc >> 1) ^ (0xEDB88320 if crc & 1 else 0)
        return crc ^ 0xFFFFFFFF
