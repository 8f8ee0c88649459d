"""A PDF of tagged pages (ISO 32000): fonts embedded, an outline, metadata, and, for a printing house,
boxes and an output intent (PDF/X-4, ISO 15930-7).

The same pages give the same bytes: dates come from the caller. Pages come written already
(`pdf_page.py`), so that most of them can have been kept from an earlier time.
"""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape

from pic2chart import __version__
from pic2chart.library.pdf_page import FONTS, MM
from pic2chart.library.pdf_type import font
from pic2chart.library.rights import Rights

NO_DATE = "2000-01-01T00:00:00Z"
"""Of documents that must be the same bytes whenever they are made."""


@dataclass(frozen=True, slots=True)
class WrittenPage:
    """A page: its operators, deflated; (tag, words) of each part with a tag, in order; the letters it
    sets in the regular and the bold type; its entry in the outline, '' for none."""

    content: bytes
    tags: tuple[tuple[str, str], ...]
    letters: tuple[str, str]
    entry: str = ""


@dataclass(frozen=True, slots=True)
class Print:
    """What a printing house is given besides. `profile`: the ICC profile of the press, whose name is
    `condition`; `bleed`: mm that the page is drawn over its trimmed edge on every side."""

    profile: bytes
    condition: str
    bleed: float = 0.0


@dataclass(frozen=True, slots=True)
class About:
    """What the document says of itself. `size`: trimmed page, mm; `date`: of its making, ISO 8601."""

    title: str
    size: tuple[float, float]
    rights: Rights = field(default_factory=Rights)
    date: str = NO_DATE


class _File:
    """Objects by number, written one after another."""

    def __init__(self) -> None:
        self._bodies: list[bytes] = []

    def room(self) -> int:
        """A number for an object that is written later."""
        self._bodies.append(b"")
        return len(self._bodies)

    def put(self, number: int, body: str | bytes) -> None:
        self._bodies[number - 1] = body if isinstance(body, bytes) else body.encode("latin-1")

    def add(self, body: str | bytes) -> int:
        self._bodies.append(body if isinstance(body, bytes) else body.encode("latin-1"))
        return len(self._bodies)

    def stream(self, data: bytes, more: str = "", *, deflated: bool = False) -> int:
        packed = data if deflated else zlib.compress(data, 6)
        head = f"<</Length {len(packed)} /Filter /FlateDecode {more}>>\nstream\n"
        return self.add(head.encode("latin-1") + packed + b"\nendstream")

    def plain_stream(self, data: bytes, more: str) -> int:
        head = f"<</Length {len(data)} {more}>>\nstream\n"
        return self.add(head.encode("latin-1") + data + b"\nendstream")

    def written(self, root: int, info: int) -> bytes:
        parts, places, at = [b"%PDF-1.6\n%\xe2\xe3\xcf\xd3\n"], [], 0
        at = len(parts[0])
        for number, body in enumerate(self._bodies, 1):
            whole = b"%d 0 obj\n%s\nendobj\n" % (number, body)
            places.append(at)
            parts.append(whole)
            at += len(whole)
        table = [f"xref\n0 {len(places) + 1}\n0000000000 65535 f \n"]
        table += [f"{place:010} 00000 n \n" for place in places]
        digest = hashlib.sha256(b"".join(parts)).hexdigest()[:32]
        table.append(
            f"trailer\n<</Size {len(places) + 1} /Root {root} 0 R /Info {info} 0 R "
            f"/ID [<{digest}> <{digest}>]>>\nstartxref\n{at}\n%%EOF\n"
        )
        return b"".join([*parts, "".join(table).encode("ascii")])


def pdf_of(pages: Sequence[WrittenPage], about: About, press: Print | None = None) -> bytes:
    """The whole document."""
    file = _File()
    root, tree, parents = file.room(), file.room(), file.room()
    fonts = _fonts(file, pages)
    resources = file.add(f"<</Font <<{' '.join(f'/{name} {n} 0 R' for name, n in fonts)}>> >>")
    numbers = [file.room() for _ in pages]
    bleed = 0.0 if press is None else press.bleed
    for at, (number, page) in enumerate(zip(numbers, pages, strict=True)):
        content = file.stream(page.content, deflated=True)
        file.put(
            number,
            f"<</Type /Page /Parent {tree} 0 R {_boxes(about.size, bleed)} /Resources {resources} 0 R "
            f"/Contents {content} 0 R /StructParents {at} /Tabs /S>>",
        )
    kids = " ".join(f"{number} 0 R" for number in numbers)
    file.put(tree, f"<</Type /Pages /Count {len(numbers)} /Kids [{kids}]>>")
    _tags(file, parents, pages, numbers)
    outline = _outline(file, [(p.entry, n) for p, n in zip(pages, numbers, strict=True) if p.entry])
    intent = "" if press is None else _intent(file, press)
    metadata = file.plain_stream(_xmp(about, press), "/Type /Metadata /Subtype /XML")
    file.put(
        root,
        f"<</Type /Catalog /Pages {tree} 0 R /Lang (en) /MarkInfo <</Marked true>> "
        f"/StructTreeRoot {parents} 0 R /Metadata {metadata} 0 R {outline} {intent} "
        "/ViewerPreferences <</DisplayDocTitle true>>>>",
    )
    return file.written(root, file.add(_info(about, press)))


def _boxes(size: tuple[float, float], bleed: float) -> str:
    wide, high, edge = size[0] * MM, size[1] * MM, bleed * MM
    whole = f"[0 0 {wide + 2 * edge:.3f} {high + 2 * edge:.3f}]"
    trim = f"[{edge:.3f} {edge:.3f} {wide + edge:.3f} {high + edge:.3f}]"
    return f"/MediaBox {whole} /BleedBox {whole} /TrimBox {trim}"


def _fonts(file: _File, pages: Sequence[WrittenPage]) -> list[tuple[str, int]]:
    made = []
    for at, (name, short) in enumerate(FONTS.items()):
        face = font(name)
        letters = sorted({letter for page in pages for letter in page.letters[at]} | {" "})
        numbers = {face.numbers.get(ord(letter), 0): letter for letter in letters}
        tag = "".join(
            chr(65 + byte % 26) for byte in hashlib.sha256("".join(letters).encode()).digest()[:6]
        )
        data = face.cut_down(numbers)
        program = file.stream(data, f"/Length1 {len(data)}")
        box = " ".join(map(str, face.box))
        descriptor = file.add(
            f"<</Type /FontDescriptor /FontName /{tag}+{name} /Flags 4 /FontBBox [{box}] "
            f"/ItalicAngle 0 /Ascent {face.ascent} /Descent {face.descent} /CapHeight {face.cap_height} "
            f"/StemV {face.stem} /FontFile2 {program} 0 R>>"
        )
        widths = " ".join(f"{number} [{face.width(number)}]" for number in sorted(numbers))
        inner = file.add(
            f"<</Type /Font /Subtype /CIDFontType2 /BaseFont /{tag}+{name} /CIDToGIDMap /Identity "
            "/CIDSystemInfo <</Registry (Adobe) /Ordering (Identity) /Supplement 0>> "
            f"/FontDescriptor {descriptor} 0 R /DW 0 /W [{widths}]>>"
        )
        unicode = file.stream(_to_unicode(numbers))
        made.append(
            (
                short,
                file.add(
                    f"<</Type /Font /Subtype /Type0 /BaseFont /{tag}+{name} /Encoding /Identity-H "
                    f"/DescendantFonts [{inner} 0 R] /ToUnicode {unicode} 0 R>>"
                ),
            )
        )
    return made


def _to_unicode(numbers: dict[int, str]) -> bytes:
    lines = [
        f"<{number:04X}> <{letter.encode('utf-16-be').hex().upper()}>"
        for number, letter in sorted(numbers.items())
    ]
    blocks = "".join(
        f"{len(part)} beginbfchar\n" + "\n".join(part) + "\nendbfchar\n"
        for part in (lines[at : at + 100] for at in range(0, len(lines), 100))
    )
    return (
        "/CIDInit /ProcSet findresource begin 12 dict begin begincmap\n"
        "/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n"
        "/CMapName /Adobe-Identity-UCS def /CMapType 2 def\n"
        "1 begincodespacerange <0000> <FFFF> endcodespacerange\n"
        f"{blocks}endcmap CMapName currentdict /CMap defineresource pop end end"
    ).encode("ascii")


def _tags(file: _File, root: int, pages: Sequence[WrittenPage], numbers: Sequence[int]) -> None:
    """The structure: one document, its parts in reading order, and the way back from each page."""
    document = file.room()
    kids: list[str] = []
    back = []
    for at, (page, number) in enumerate(zip(pages, numbers, strict=True)):
        place = f"/P {document} 0 R /Pg {number} 0 R"
        own = []
        for content, (tag, words) in enumerate(page.tags):
            alt = f"/Alt {_text(words)} " if words else ""
            one = file.add(f"<</Type /StructElem /S /{tag} {place} {alt}/K {content}>>")
            own.append(f"{one} 0 R")
        kids += own
        back.append(f"{at} [{' '.join(own)}]")
    inside = " ".join(kids)
    file.put(document, f"<</Type /StructElem /S /Document /P {root} 0 R /K [{inside}]>>")
    parents = file.add(f"<</Nums [{' '.join(back)}]>>")
    file.put(
        root,
        f"<</Type /StructTreeRoot /K [{document} 0 R] /ParentTree {parents} 0 R "
        f"/ParentTreeNextKey {len(pages)}>>",
    )


def _outline(file: _File, entries: Sequence[tuple[str, int]]) -> str:
    if not entries:
        return ""
    top, items = file.room(), [file.room() for _ in entries]
    for at, ((words, page), item) in enumerate(zip(entries, items, strict=True)):
        before = f"/Prev {items[at - 1]} 0 R " if at else ""
        after = f"/Next {items[at + 1]} 0 R " if at + 1 < len(items) else ""
        file.put(
            item,
            f"<</Title {_text(words)} /Parent {top} 0 R {before}{after}/Dest [{page} 0 R /Fit]>>",
        )
    file.put(
        top,
        f"<</Type /Outlines /First {items[0]} 0 R /Last {items[-1]} 0 R /Count {len(items)}>>",
    )
    return f"/Outlines {top} 0 R"


def _intent(file: _File, press: Print) -> str:
    profile = file.stream(press.profile, "/N 4")
    return (
        f"/OutputIntents [<</Type /OutputIntent /S /GTS_PDFX /OutputConditionIdentifier "
        f"{_text(press.condition)} /Info {_text(press.condition)} /DestOutputProfile {profile} 0 R>>]"
    )


def _xmp(about: About, press: Print | None) -> bytes:
    said = about.rights.said()
    names = {"author": "creator", "credit": "contributor", "licence": "rights", "source": "source"}
    lists = {"creator": "Seq", "contributor": "Bag", "rights": "Alt"}
    lines = [
        f'<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{escape(about.title)}</rdf:li></rdf:Alt></dc:title>'
    ]
    for name, term in names.items():
        if name in said:
            value, kind = escape(said[name]), lists.get(term)
            language = ' xml:lang="x-default"' if kind == "Alt" else ""
            inner = (
                f"<rdf:{kind}><rdf:li{language}>{value}</rdf:li></rdf:{kind}>" if kind else value
            )
            lines.append(f"<dc:{term}>{inner}</dc:{term}>")
    x4 = "<pdfxid:GTS_PDFXVersion>PDF/X-4</pdfxid:GTS_PDFXVersion>" if press is not None else ""
    identity = hashlib.sha256(f"{about}".encode()).hexdigest()
    uuid = "-".join(
        (identity[:8], identity[8:12], identity[12:16], identity[16:20], identity[20:32])
    )
    return (
        '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>\n'
        '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
        '<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" '
        'xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmlns:xmpMM="http://ns.adobe.com/xap/1.0/mm/" '
        'xmlns:pdf="http://ns.adobe.com/pdf/1.3/" xmlns:pdfxid="http://www.npes.org/pdfx/ns/id/">'
        f"{''.join(lines)}<dc:format>application/pdf</dc:format>"
        f"<xmp:CreateDate>{about.date}</xmp:CreateDate><xmp:ModifyDate>{about.date}</xmp:ModifyDate>"
        f"<xmp:MetadataDate>{about.date}</xmp:MetadataDate>"
        f"<xmp:CreatorTool>pic2chart {__version__}</xmp:CreatorTool>"
        f"<xmpMM:DocumentID>uuid:{uuid}</xmpMM:DocumentID><xmpMM:VersionID>1</xmpMM:VersionID>"
        "<xmpMM:RenditionClass>default</xmpMM:RenditionClass><pdf:Trapped>False</pdf:Trapped>"
        f"<pdf:Producer>pic2chart {__version__}</pdf:Producer>{x4}"
        '</rdf:Description></rdf:RDF></x:xmpmeta>\n<?xpacket end="w"?>'
    ).encode()


def _info(about: About, press: Print | None) -> str:
    date = "D:" + "".join(c for c in about.date if c.isdigit())[:14] + "Z"
    more = f"/Author {_text(about.rights.author)} " if about.rights.author else ""
    x4 = "/GTS_PDFXVersion (PDF/X-4) " if press is not None else ""
    return (
        f"<</Title {_text(about.title)} {more}/Creator (pic2chart {__version__}) "
        f"/Producer (pic2chart {__version__}) /CreationDate ({date}) /ModDate ({date}) "
        f"{x4}/Trapped /False>>"
    )


def _text(words: str) -> str:
    """A text string: as UTF-16 in hexadecimal, so that no sign in it is an operator."""
    return f"<FEFF{words.encode('utf-16-be', 'replace').hex().upper()}>"


def one_of(letters: Iterable[str]) -> str:
    """Letters in order, each once, as a page keeps them."""
    return "".join(sorted(set(letters)))
