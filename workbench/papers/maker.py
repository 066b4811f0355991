"""Who makes the papers: name, license number and a logo, which is looked at before it goes on a page."""

from __future__ import annotations

import re
import struct
from os import PathLike
from pathlib import Path
from xml.etree import ElementTree

from workbench.papers.blocks import Maker

MOST_BYTES = 1_000_000
MOST_PIXELS = 4000
_PNG = b"\x89PNG\r\n\x1a\n"
_LINK = re.compile(r"^(#|data:image/)")
_ELSEWHERE = re.compile(r"url\(\s*['\"]?(?!#)", re.IGNORECASE)


class BadLogo(ValueError):
    """A logo that cannot go on a page, with a sentence."""


def maker_of(name: str = "", license_number: str = "", logo: str | PathLike[str] | None = None) -> Maker:
    """Who makes the papers, the logo read from its file and looked at.

    Raises
    ------
    BadLogo
    """
    if logo is None or not str(logo):
        return Maker(name.strip(), license_number.strip())
    path = Path(logo)
    try:
        if path.stat().st_size > MOST_BYTES:
            raise BadLogo(f"{path}: the logo is larger than {MOST_BYTES // 1000} kB")
        content = path.read_bytes()
    except (OSError, ValueError) as error:
        if isinstance(error, BadLogo):
            raise
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise BadLogo(f"{path}: the logo cannot be read ({reason})") from error
    try:
        kind = logo_kind(content)
    except BadLogo as error:
        raise BadLogo(f"{path}: {error}") from error
    return Maker(name.strip(), license_number.strip(), content, kind)


def logo_kind(content: bytes) -> str:
    """`png` or `svg`, when it is a picture that can be shown, is not too large and loads nothing from elsewhere.

    Raises
    ------
    BadLogo
    """
    if len(content) > MOST_BYTES:
        raise BadLogo(f"the logo is larger than {MOST_BYTES // 1000} kB")
    if content.startswith(_PNG):
        if len(content) < 33 or content[12:16] != b"IHDR":
            raise BadLogo("the logo is a damaged PNG picture")
        width, height = struct.unpack(">II", content[16:24])
        if not (0 < width <= MOST_PIXELS and 0 < height <= MOST_PIXELS):
            raise BadLogo(f"the logo is {width} by {height} pixels; at most {MOST_PIXELS} each way will do")
        return "png"
    if b"<svg" not in content:
        raise BadLogo("the logo is not a PNG or SVG picture")
    _look_over(content)
    return "svg"


def _look_over(content: bytes) -> None:
    # entities could blow a small file up to any size
    if b"<!DOCTYPE" in content or b"<!ENTITY" in content:
        raise BadLogo("the logo is an SVG with a document type of its own; save it as plain SVG")
    try:
        root = ElementTree.fromstring(content)
    except (ElementTree.ParseError, ValueError) as error:
        raise BadLogo("the logo is a damaged SVG picture") from error
    if root.tag.rpartition("}")[2] != "svg":
        raise BadLogo("the logo is not a PNG or SVG picture")
    for element in root.iter():
        name = str(element.tag).rpartition("}")[2].lower()
        linked = [v for k, v in element.attrib.items() if k.rpartition("}")[2] == "href" and not _LINK.match(v.strip())]
        elsewhere = any(_ELSEWHERE.search(v) for v in element.attrib.values()) or _ELSEWHERE.search(element.text or "")
        if name in ("script", "foreignobject") or linked or elsewhere:
            raise BadLogo("the logo is an SVG that runs or loads something; save it as plain SVG")
