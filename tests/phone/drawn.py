"""Says whether anything is drawn on a screen that Xvfb keeps in a file (-fbdir), a dump of X's own kind.

    python3 drawn.py Xvfb_screen0

Exit 0 where at least 16 colours are on it and no colour fills it: an empty window has one or two.
"""

import struct
import sys
from collections import Counter
from pathlib import Path


def main() -> int:
    data = Path(sys.argv[1]).read_bytes()
    head = struct.unpack(">25I", data[:100])
    size, width, height, bits, line, colours = head[0], head[4], head[5], head[11], head[12], head[19]
    if bits != 32:
        print(f"{bits} bits a pixel; 32 are read")
        return 1
    begin = size + 12 * colours
    seen: Counter[bytes] = Counter()
    for y in range(height):
        row = data[begin + y * line : begin + y * line + 4 * width]
        seen.update(row[x : x + 3] for x in range(0, len(row), 4))
    most = max(seen.values()) / (width * height)
    print(f"{len(seen)} colours, the commonest on {100 * most:.0f} % of {width} x {height}")
    return 0 if len(seen) >= 16 and most < 0.98 else 1


if __name__ == "__main__":
    sys.exit(main())
