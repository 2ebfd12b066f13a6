"""The numbered strip of the demo's film."""
import io

from PIL import Image


def frame_number(shot, scale):
    """The number on the strip in the film's upper left corner: 32 blocks of 8 pixels, 1 0 1 1 0, 24 bits, parity, 0 1."""
    picture = Image.open(io.BytesIO(shot)).convert("L")
    bits = [picture.getpixel((round((8 * i + 4) * scale), round(4 * scale))) > 127 for i in range(32)]
    if bits[:5] != [True, False, True, True, False] or bits[30:] != [False, True] or sum(bits[5:30]) % 2:
        return None
    return sum(bit << (23 - i) for i, bit in enumerate(bits[5:29]))
