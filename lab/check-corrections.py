#!/usr/bin/env python3
"""Holds corrections against OpenColorIO and colour-clf-io, general libraries for ASC CDL and Common LUT
Format.

Usage: check-corrections.py MIRECAST

Makes pictures of a few casts, has MIRECAST write corrections and proofs for them, reads the .clf, the
.cc and the .ccc back with OpenColorIO, applies each to the picture, and fails where the result is
further than 1/255 from the proof, or where a file cannot be read. The .clf is read by colour-clf-io as
well, a reader of its own: its process list must be as the specification (S-2014-006) wants it, and what
it says, worked out here, must give OpenColorIO's picture. Needs opencolorio, colour-clf-io, numpy and
pillow.
"""

import json
import pathlib
import subprocess
import sys
import tempfile
from importlib.metadata import version

import colour_clf_io as clf
import numpy as np
import PyOpenColorIO as ocio
from colour_clf_io.errors import ParsingError
from PIL import Image, ImageCms

# A neutral in linear sRGB under each cast.
CASTS = {"orange": (1.0, 0.62, 0.30), "blue": (0.42, 0.72, 1.0), "slight": (1.0, 0.82, 0.62)}
ENCODINGS = ("srgb", "rec709", "linear", "gamma2.2")


def encode(linear):
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 0) ** (1 / 2.4) - 0.055)


def decode(encoded):
    return np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)


def boards(neutral, seed):
    """Painted boards, four in ten of them grey, with some falloff of the light."""
    rng = np.random.default_rng(seed)
    grey = 0.03 + 0.75 * rng.random((12, 18, 1))
    colour = 1 + np.where(rng.random((12, 18, 1)) < 0.4, 0.0, 0.9) * (rng.random((12, 18, 3)) - 0.5)
    boards = np.kron(grey * colour, np.ones((30, 30, 1)))
    falloff = np.linspace(1.0, 0.75, boards.shape[1])[None, :, None]
    return np.round(255 * encode(np.clip(boards * falloff * neutral, 0, 1))).astype(np.uint8)


def applied(transform, pixels):
    """What a transform makes of pixels of 0 to 1."""
    processor = ocio.Config.CreateRaw().getProcessor(transform).getDefaultCPUProcessor()
    out = np.array(pixels, dtype=np.float32, order="C")
    processor.applyRGB(out)
    return np.clip(out, 0, 1)


# The footage's own curve, as the library itself has it, to bring an sRGB proof into it and back.
def curve(name, pixels, back):
    if name == "srgb":
        return encode(pixels) if back else decode(pixels)
    if name == "linear":
        return pixels
    if name == "rec709":
        transform = ocio.ExponentWithLinearTransform()
        transform.setGamma([1 / 0.45] * 3 + [1])
        transform.setOffset([0.099] * 3 + [0])
    else:
        transform = ocio.ExponentTransform([2.2, 2.2, 2.2, 1])
        transform.setNegativeStyle(ocio.NEGATIVE_MIRROR)
    direction = ocio.TRANSFORM_DIR_INVERSE if back else ocio.TRANSFORM_DIR_FORWARD
    transform.setDirection(direction)
    out = np.array(pixels, dtype=np.float32, order="C")
    ocio.Config.CreateRaw().getProcessor(transform).getDefaultCPUProcessor().applyRGB(out)
    return out


def process_list(path, encoding):
    """The nodes of a file's process list, once they are what the specification asks for."""
    text = path.read_bytes()
    read = clf.read_clf(text)
    assert read.id and read.name == path.stem, "the id, and the name of the file"
    assert float(read.compatible_CLF_version) <= 3.0, "a version that readers know"
    assert read.description and read.input_descriptor == read.output_descriptor, "what it is for"
    nodes = read.process_nodes
    kinds = [type(node).__name__ for node in nodes]
    assert kinds == (["Matrix"] if encoding == "linear" else ["Exponent", "Matrix", "Exponent"]), kinds
    for node in nodes:
        # So also the depth of one node is that of the next.
        assert node.in_bit_depth == node.out_bit_depth == clf.BitDepth.f32, "32-bit floats throughout"
        if isinstance(node, clf.Matrix):
            assert tuple(node.array.dim) == (3, 3) and len(node.array.values) == 9, "three by three"
        else:
            [params] = node.exponent_params
            assert params.channel is None, "one curve for all channels"
            # What the specification lets each style have.
            monitor = node.style.value.startswith("monCurve")
            assert monitor == (params.offset is not None), "an offset with a monitor curve only"
            within = (1, 10) if monitor else (0.01, 100)
            assert within[0] <= params.exponent <= within[1], params
            assert params.offset is None or 0 <= params.offset <= 0.9, params
    # That the reader does look.
    for good, bad in ((b' id="', b' no="'), (b'="32f"', b'="33f"'), (b"CLF:v3.0", b"CLF:v0.1")):
        try:
            clf.read_clf(text.replace(good, bad, 1))
        except (ValueError, ParsingError):
            continue
        raise AssertionError(f"{bad} is let through")
    return nodes


def worked_out(nodes, pixels):
    """What a process list makes of pixels of 0 to 1, by the specification's formulas."""
    for node in nodes:
        if isinstance(node, clf.Matrix):
            pixels = pixels @ np.array(node.array.values).reshape(3, 3).T
            continue
        params, style = node.exponent_params[0], node.style.value
        power, offset = params.exponent, params.offset
        if style.startswith("basicMirror"):
            power = power if style.endswith("Fwd") else 1 / power
            pixels = np.sign(pixels) * np.abs(pixels) ** power
            continue
        slope = ((power - 1) / offset) * (offset * power / ((power - 1) * (1 + offset))) ** power
        knee = offset / (power - 1)
        if style == "monCurveFwd":
            curved = ((np.maximum(pixels, 0) + offset) / (1 + offset)) ** power
            pixels = np.where(pixels >= knee, curved, slope * pixels)
        else:
            curved = (1 + offset) * np.maximum(pixels, 0) ** (1 / power) - offset
            pixels = np.where(pixels >= knee * slope, curved, pixels / slope)
    return np.clip(pixels, 0, 1)


def check(program, footage):
    compared, worst = 0, 0.0
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        shoot, grade, proofs = folder / "shoot", folder / "grade", folder / "proofs"
        shoot.mkdir()
        profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
        for index, (name, neutral) in enumerate(CASTS.items()):
            exif = Image.Exif()
            exif[0x0112] = 1 + 5 * (index % 2)
            Image.fromarray(boards(np.array(neutral), index)).save(
                shoot / f"{name}.png", exif=exif, icc_profile=profile if index == 1 else None
            )
        command = [program, "frames", "--no-settings", "--each-frame", "--format", "json", "--footage", footage]
        command += ["--corrections", grade, "--proofs", proofs, shoot]
        run = subprocess.run(command, check=True, capture_output=True, text=True)
        records = [json.loads(line) for line in run.stdout.splitlines()]
        made = [record["correction"]["made"] for record in records if "correction" in record]
        ids = [one["id"] for one in made if one]
        for name in ids:
            original = Image.open(shoot / f"{name}.png")
            linear = decode(np.asarray(original, dtype=np.float64) / 255)
            seen = curve(footage, linear, back=True)
            nodes = process_list(grade / f"{name}.clf", footage)
            by_hand = worked_out(nodes, seen)
            apart = np.abs(by_hand - applied(ocio.FileTransform(str(grade / f"{name}.clf")), seen)).max()
            assert apart < 1e-4, f"{footage}, {name}: the readers differ by {apart}"
            collection = ocio.FileTransform(str(grade / "corrections.ccc"), cccId=name)
            for kind, transform in (
                ("clf", ocio.FileTransform(str(grade / f"{name}.clf"))),
                ("cdl", ocio.FileTransform(str(grade / f"{name}.cc"))),
                ("cdl", collection),
            ):
                shown = Image.open(proofs / f"{name}-proof-{kind}.png")
                assert shown.getexif()[0x0112] == original.getexif()[0x0112], "orientation"
                assert shown.info.get("icc_profile") == original.info.get("icc_profile"), "profile"
                assert shown.text["Title"] == "Proof", "the mark of a proof"
                proof = np.asarray(shown, dtype=np.float64) / 255
                there = curve(footage, applied(transform, seen), back=False)
                result = encode(there)
                off = np.abs(np.clip(result, 0, 1) - proof).max() * 255
                assert off <= 1.0, f"{footage}, {name}, {kind}: off by {off:.2f} of 255"
                compared, worst = compared + 1, max(worst, off)
    assert compared >= 6, f"{footage}: only {compared} comparisons"
    print(f"{footage}: {compared} comparisons, at most {worst:.2f} of 255 off")


if __name__ == "__main__":
    print(f"OpenColorIO {ocio.GetVersion()}, colour-clf-io {version('colour-clf-io')}")
    for encoding in ENCODINGS:
        check(str(pathlib.Path(sys.argv[1]).resolve()), encoding)
