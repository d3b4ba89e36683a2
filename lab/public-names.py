#!/usr/bin/env python3
"""Every public name of the library and its type, from its documentation (cargo doc --no-deps -p mirecast).

    lab/public-names.py target/doc            compares with lab/data/public-names.txt
    lab/public-names.py target/doc --write    writes that file anew

A name that goes, comes or changes its type shows in the difference and wants a line in CHANGELOG.md: by the
rules of semantic versioning one that goes or changes is a new 0.x, or a new major version. Which traits a
type has does not show here; the examples and the documentation's own program are compiled against those.
"""
import html
import re
import sys
from pathlib import Path

LIST = Path(__file__).parent / "data" / "public-names.txt"
KIND = {"method": "fn", "tymethod": "fn", "structfield": "field", "associatedconstant": "const"}
# What follows the mark of a part, up to the end of its heading: `<h4 …>pub fn name(…)</h4>`,
# `<h3 …>Name(…)</h3>` or `<code>name: Type</code>`.
PART = re.compile(
    r'id="(method|tymethod|structfield|variant|associatedconstant)\.([^"]+)"'
    r'.*?<(h[34]|code)(?: class="code-header")?>(.*?)</\3>',
    re.S,
)
DECLARATION = re.compile(r'<pre class="rust item-decl"><code>(.*?)</code></pre>', re.S)


def text(page: str) -> str:
    """What a piece of a page says, in one line, however it was broken and linked."""
    page = re.sub(r'<a[^>]*class="tooltip".*?</a>', "", page, flags=re.S)
    page = re.sub(r"<(?:div|br)[^>]*>", " ", page)
    page = html.unescape(re.sub(r"<[^>]+>", "", page))
    line = re.sub(r"\s+", " ", page).strip()
    line = re.sub(r"([(\[]) | ([)\],;])", lambda found: found[1] or found[2], line)
    return re.sub(r",([)\]])", r"\1", line)


def type_of(said: str, name: str) -> str:
    """What stands behind a name in its declaration: parameters and result, or the type."""
    found = re.search(rf"(?<!\w){re.escape(name)}(?!\w)", said)
    behind = said[found.end():] if found else ""
    qualities = re.search(r"\bconst fn\b", said[: found.start()]) if found else None
    # The value of a constant is no part of its type.
    if behind.startswith(": "):
        behind = behind.split(" = ")[0]
    return behind.rstrip(" ;,") + (" const" if qualities else "")


def parts(page: str):
    """Methods, fields and variants of an item; not what traits give it."""
    own = re.split(r'id="(?:trait-implementations|implementors|synthetic-implementations)"', page)[0]
    # Methods that an item has by dereferencing belong to something else.
    own = re.split(r'id="deref-methods', own)[0]
    for kind, name, _, said in PART.findall(own):
        if not name.endswith(".fields"):
            yield f"{KIND.get(kind, kind)} {name}{type_of(text(said), name.split('.')[-1])}"


def names(docs: Path):
    index = (docs / "mirecast" / "all.html").read_text()
    for link in re.findall(r'<li><a href="([^"]+\.html)"', index):
        folder, _, file = link.rpartition("/")
        kind, name, _ = file.split(".")
        path = "::".join([*folder.split("/"), name] if folder else [name])
        page = (docs / "mirecast" / link).read_text()
        declared = DECLARATION.search(page)
        said = text(declared[1]) if declared else ""
        if kind in ("struct", "enum", "trait", "union"):
            closed = " #[non_exhaustive]" if "#[non_exhaustive]" in said else ""
            generic = re.search(rf"\b{kind} {name}(<[^({{]*>)?", said)
            yield f"{kind} {path}{generic[1] or '' if generic else ''}{closed}"
        else:
            yield f"{kind} {path}{type_of(said, name)}"
        for part in parts(page):
            yield f"{kind} {path}: {part}"


def main() -> int:
    found = sorted(set(names(Path(sys.argv[1]))))
    if len(found) < 300:
        print(f"only {len(found)} names: is the documentation there?", file=sys.stderr)
        return 2
    bare = [name for name in found if re.search(r"(^|: )(fn \S+|field \S+)$", name)]
    if bare:
        print(f"no type is found of {bare[0]}: has the documentation another form?", file=sys.stderr)
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


if __name__ == "__main__":
    sys.exit(main())
