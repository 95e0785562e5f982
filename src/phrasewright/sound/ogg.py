"""The pages of an Ogg file, given the same serial number whatever chance the encoder took.

A page: ``OggS``, version, type, position (8 bytes), serial number, page number, checksum (4 bytes each), count and
lengths of its segments, segments (RFC 3533). The checksum is a CRC with the polynomial of zlib's, most significant bit
first and without zlib's inversions; bits turned round, zlib computes it.
"""

from __future__ import annotations

import struct
import zlib

_SERIAL_AT, _CHECKSUM_AT, _SEGMENTS_AT, _LENGTHS_AT = 14, 22, 26, 27
_TURNED = bytes(int(f"{byte:08b}"[::-1], 2) for byte in range(256))
_ALL_ONES = 0xFFFFFFFF


def with_serial(content: bytes, serial: int) -> bytes:
    """The same stream under another serial number. Raises ValueError for what is not a whole Ogg file."""
    pages = bytearray(content)
    start = 0
    while start < len(pages):
        end = _end_of_page(pages, start)
        struct.pack_into("<I", pages, start + _SERIAL_AT, serial)
        struct.pack_into("<I", pages, start + _CHECKSUM_AT, 0)
        struct.pack_into("<I", pages, start + _CHECKSUM_AT, checksum(bytes(pages[start:end])))
        start = end
    return bytes(pages)


def checksum(page: bytes) -> int:
    """CRC-32 of a page whose own checksum is 0 (RFC 3533, section 6)."""
    turned = zlib.crc32(page.translate(_TURNED), _ALL_ONES) ^ _ALL_ONES
    return int(f"{turned:032b}"[::-1], 2)


def _end_of_page(pages: bytearray, start: int) -> int:
    lengths_at = start + _LENGTHS_AT
    if pages[start : start + 4] != b"OggS" or lengths_at > len(pages):
        raise ValueError("an Ogg page begins with OggS")
    count = pages[start + _SEGMENTS_AT]
    end = lengths_at + count + sum(pages[lengths_at : lengths_at + count])
    if end > len(pages):
        raise ValueError("the last Ogg page is cut off")
    return end
