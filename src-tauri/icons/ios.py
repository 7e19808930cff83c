"""Draws the icons for iOS: the same disc and bar as build.sh, on a whole ground, since iOS cuts the corners itself
and takes no transparency. Needs numpy alone: python3 src-tauri/icons/ios.py
"""

import json
import struct
import zlib
from pathlib import Path

import numpy as np

OUT = Path(__file__).resolve().parent.parent / "gen/apple/Assets.xcassets/AppIcon.appiconset"
GROUND, DISC, BAR = (0x0E, 0x12, 0x16), (0xA6, 0xDC, 0xFF), (0xFF, 0xAC, 0x73)
# Points a side, scale, kind of device; `1` marks the second file of a size, as the project's template names them.
PLACES = [
    ("20x20", 2, "iphone", ""),
    ("20x20", 3, "iphone", ""),
    ("29x29", 2, "iphone", "-1"),
    ("29x29", 3, "iphone", ""),
    ("40x40", 2, "iphone", ""),
    ("40x40", 3, "iphone", ""),
    ("60x60", 2, "iphone", ""),
    ("60x60", 3, "iphone", ""),
    ("20x20", 1, "ipad", ""),
    ("20x20", 2, "ipad", "-1"),
    ("29x29", 1, "ipad", ""),
    ("29x29", 2, "ipad", ""),
    ("40x40", 1, "ipad", ""),
    ("40x40", 2, "ipad", "-1"),
    ("76x76", 1, "ipad", ""),
    ("76x76", 2, "ipad", ""),
    ("83.5x83.5", 2, "ipad", ""),
    ("1024x1024", 1, "ios-marketing", ""),
]


def draw(side: int) -> np.ndarray:
    """The icon, `side` pixels a side; each pixel is the mean of 8 x 8 points."""
    fine = 8
    at = (np.arange(side * fine) + 0.5) * (512 / (side * fine))
    x, y = at[None, :], at[:, None]
    picture = np.empty((side * fine, side * fine, 3), dtype=np.float32)
    picture[:] = GROUND
    picture[(x - 256) ** 2 + (y - 196) ** 2 <= 104**2] = DISC
    picture[(x >= 96) & (x <= 416) & (y >= 348) & (y <= 412)] = BAR
    return picture.reshape(side, fine, side, fine, 3).mean(axis=(1, 3)).round().astype(np.uint8)


def png(picture: np.ndarray) -> bytes:
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    side = picture.shape[0]
    lines = b"".join(b"\0" + line.tobytes() for line in picture)
    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(lines, 9)) + chunk(b"IEND", b"")


def main() -> None:
    images = []
    for size, scale, idiom, extra in PLACES:
        side = round(float(size.split("x")[0]) * scale)
        stem = "512@2x" if idiom == "ios-marketing" else f"{size}@{scale}x"
        name = f"AppIcon-{stem}{extra}.png"
        (OUT / name).write_bytes(png(draw(side)))
        images.append({"size": size, "idiom": idiom, "filename": name, "scale": f"{scale}x"})
    contents = {"images": images, "info": {"version": 1, "author": "xcode"}}
    (OUT / "Contents.json").write_text(json.dumps(contents, indent=2) + "\n")
    (OUT.parent / "Contents.json").write_text(json.dumps({"info": contents["info"]}, indent=2) + "\n")


main()
