#!/usr/bin/env python3
"""Every public name of the library, from its documentation (cargo doc --no-deps -p mirecast).

    lab/public-names.py target/doc            compares with lab/data/public-names.txt
    lab/public-names.py target/doc --write    writes that file anew

A name that goes, or that comes, shows in the difference and wants a line in CHANGELOG.md: by the rules of
semantic versioning a name that goes is a new 0.x, or a new major version. What these names cannot show is
a change of types; the examples and the documentation's own program are compiled against those.
"""
import html
import re
import sys
from pathlib import Path

LIST = Path(__file__).parent / "data" / "public-names.txt"
PART = re.compile(r'id="(method|tymethod|structfield|variant|associatedconstant)\.([^"]+)"')
KIND = {"method": "fn", "tymethod": "fn", "structfield": "field", "associatedconstant": "const"}


def parts(page: str):
    """Methods, fields and variants of an item; not what traits give it."""
    own = re.split(r'id="(?:trait-implementations|implementors|synthetic-implementations)"', page)[0]
    # Methods that an item has by dereferencing belong to something else.
    own = re.split(r'id="deref-methods', own)[0]
    return sorted({f"{KIND.get(kind, kind)} {name}" for kind, name in PART.findall(own)})


def names(docs: Path):
    index = (docs / "mirecast" / "all.html").read_text()
    for link in re.findall(r'<li><a href="([^"]+\.html)"', index):
        folder, _, file = link.rpartition("/")
        kind, name, _ = file.split(".")
        path = "::".join([*folder.split("/"), name] if folder else [name])
        yield f"{kind} {path}"
        page = html.unescape((docs / "mirecast" / link).read_text())
        for part in parts(page):
            yield f"{kind} {path}: {part}"


def main() -> int:
    found = sorted(set(names(Path(sys.argv[1]))))
    if len(found) < 300:
        print(f"only {len(found)} names: is the documentation there?", file=sys.stderr)
        return 2
    if sys.argv[2:] == ["--write"]:
        LIST.write_text("\n".join(found) + "\n")
        return 0
    known = set(LIST.read_text().splitlines())
    for name in sorted(known - set(found)):
        print(f"gone: {name}")
    for name in sorted(set(found) - known):
        print(f"new:  {name}")
    if known == set(found):
        return 0
    print("Say so in CHANGELOG.md, choose the version by it, and run this again with --write.")
    return 1


sys.exit(main())
