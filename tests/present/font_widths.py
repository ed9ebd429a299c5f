"""Advance widths out of TrueType files, for judging (and once for making) the drawing's own table of widths.

The tables `head`, `hhea`, `hmtx` and `cmap` are read as ISO/IEC 14496-22 (the Open Font Format) lays them out.
Run as a script with the folder of the fonts: prints the table of `tracer/present/drawing/font_widths.txt`.
"""

from __future__ import annotations

import struct
import sys
from pathlib import Path

FONTS = Path("/usr/share/fonts/truetype")
REGULAR = ("dejavu/DejaVuSans.ttf", "liberation/LiberationSans-Regular.ttf")
BOLD = ("dejavu/DejaVuSans-Bold.ttf", "liberation/LiberationSans-Bold.ttf")
# What names in European languages and the signs of the trade need.
RANGES = ((0x20, 0x7E), (0xA0, 0x17F), (0x370, 0x3FF), (0x400, 0x45F), (0x2010, 0x2026), (0x2030, 0x203A))
SINGLE = (0x20AC, 0x2116, 0x2122, 0x2126, 0x2190, 0x2191, 0x2192, 0x2193, 0x2212, 0x221E, 0x2248, 0x2260, 0x2264,
          0x2265, 0xFFFD)


class Font:
    """One TrueType file."""

    def __init__(self, path: Path) -> None:
        data = self._data = path.read_bytes()
        count = struct.unpack(">H", data[4:6])[0]
        self._at = {
            data[p : p + 4].decode(): struct.unpack(">I", data[p + 8 : p + 12])[0]
            for p in range(12, 12 + 16 * count, 16)
        }
        self._em = int.from_bytes(data[self._at["head"] + 18 : self._at["head"] + 20], "big")
        self._metrics = struct.unpack(">H", data[self._at["hhea"] + 34 : self._at["hhea"] + 36])[0]
        self._glyph = self._characters()

    def _characters(self) -> dict[int, int]:
        """Code points and their glyphs, from the subtable of format 4 for Windows' Unicode."""
        data, cmap = self._data, self._at["cmap"]
        for n in range(struct.unpack(">H", data[cmap + 2 : cmap + 4])[0]):
            platform, encoding, offset = struct.unpack(">HHI", data[cmap + 4 + 8 * n : cmap + 12 + 8 * n])
            start = cmap + offset
            if (platform, encoding) == (3, 1) and struct.unpack(">H", data[start : start + 2])[0] == 4:
                return self._format_4(start)
        raise ValueError("no table of characters that this reader knows")

    def _format_4(self, start: int) -> dict[int, int]:
        data = self._data
        twice = struct.unpack(">H", data[start + 6 : start + 8])[0]
        ends, starts, deltas, offsets = (
            struct.unpack(f">{twice // 2}H", data[p : p + twice])
            for p in (start + 14, *(start + 16 + twice * k for k in (1, 2, 3)))
        )
        at_offsets, found = start + 16 + 3 * twice, {}
        for i, (first, last, delta, offset) in enumerate(zip(starts, ends, deltas, offsets, strict=True)):
            for code in range(first, min(last, 0xFFFE) + 1):
                glyph = code
                if offset:
                    where = at_offsets + 2 * i + offset + 2 * (code - first)
                    glyph = struct.unpack(">H", data[where : where + 2])[0]
                    if not glyph:
                        continue
                found[code] = (glyph + delta) % 65536
        return {code: glyph for code, glyph in found.items() if glyph}

    def width(self, code: int) -> float | None:
        """Advance width in thousandths of the size; None if the font lacks the character."""
        glyph = self._glyph.get(code)
        if glyph is None:
            return None
        where = self._at["hmtx"] + 4 * min(glyph, self._metrics - 1)
        return 1000.0 * int.from_bytes(self._data[where : where + 2], "big") / self._em


def codes() -> list[int]:
    return sorted({*SINGLE, *(c for first, last in RANGES for c in range(first, last + 1))})


def widest(fonts: list[Font], code: int) -> int | None:
    """The widest of the fonts, rounded up; None if none has the character."""
    found = [w for f in fonts if (w := f.width(code)) is not None]
    return -int(-max(found) // 1) if found else None


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else FONTS
    sets = [[Font(folder / name) for name in names] for names in (REGULAR, BOLD)]
    for code in codes():
        both = [widest(fonts, code) for fonts in sets]
        if None not in both:
            print(f"{code:04X} {both[0]} {both[1]}")
