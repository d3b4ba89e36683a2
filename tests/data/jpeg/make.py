"""Makes the JPEGs of this folder, of layouts that the test suite's own encoder has not. Pillow 13.0.0.

A slope in each channel with repeatable noise, away from black and white so that nothing clips. The name of
each file says what it is: sampling, process, and `restart` where there is a restart marker every few units.
"""

import random

from PIL import Image


def picture(width, height, noise):
    source = random.Random(7)
    image = Image.new("RGB", (width, height))
    for y in range(height):
        for x in range(width):
            wobble = source.randint(-noise, noise)
            slope = (80 + x, 90 + y, 170 - x // 2)
            image.putpixel((x, y), tuple(value + wobble for value in slope))
    return image


image = picture(61, 47, 12)
grey = image.convert("L")
for name, subsampling in ("444", 0), ("422", 1), ("420", 2):
    image.save(f"{name}-baseline-restart.jpg", quality=85, subsampling=subsampling, restart_marker_blocks=3)
    image.save(f"{name}-progressive.jpg", quality=85, subsampling=subsampling, progressive=True)
image.save("420-progressive-restart.jpg", quality=85, progressive=True, restart_marker_blocks=2)
image.save("422-baseline-optimised.jpg", quality=95, subsampling=1, optimize=True)
image.save("rgb-baseline.jpg", quality=85, keep_rgb=True)
grey.save("grey-baseline.jpg", quality=85)
grey.save("grey-progressive.jpg", quality=85, progressive=True)
