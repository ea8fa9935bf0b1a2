"""How wide a text is, without asking a screen: advance widths of the common sans-serif face.

The figures are those of the metric family Helvetica, Arial, Liberation Sans (Adobe font metrics
``phvr8a.afm`` and ``phvb8a.afm``, thousandths of the size). Where a viewer has another face, the
drawing tells it the width to keep (``textLength``), so that what is clear here stays clear there.
"""

from unicodedata import combining, east_asian_width

UNIT = 12.0  # CSS pixels per grid unit
SIZE = 11.0  # CSS pixels of every text in a drawing
ASCENT, DESCENT = 0.69, 0.20  # of a line of capitals, digits and tails, in grid units at SIZE
FACE = "Arial, 'Liberation Sans', Helvetica, sans-serif"

_PLAIN = {
    222: "'`ijl",
    260: "|",
    278: " !,./:;[\\]ftI",
    333: "()-r",
    334: "{}",
    355: '"',
    389: "*",
    400: "°",
    469: "^",
    500: "Jckmsvxyz",
    556: "#$0123456789?_abdeghnopquL–",
    584: "+<=>~±×−",
    611: "FTZ",
    667: "&ABEKPSVXY",
    722: "CDHNRUw",
    768: "Ω",
    778: "GOQ",
    833: "M",
    889: "%",
    944: "W",
    1000: "…",
    1015: "@",
}
_NOT_PLAIN = {"m": 833, "µ": 576, "μ": 576}  # both code points of micro
_BOLD = {
    278: " '`,./\\Iijl",
    280: "|",
    333: "!()-:;[]ft",
    389: "*r{}",
    400: "°",
    474: '"',
    500: "z",
    556: "#$0123456789Jacekmsvxy_–",
    584: "+<=>^~±×−",
    611: "?FLTZbdghnopqu",
    667: "EPSVXY",
    722: "&ABCDHKNRU",
    768: "Ω",
    778: "GOQw",
    833: "M",
    889: "%m",
    944: "W",
    975: "@",
    1000: "…",
}
_OTHER = 640  # letters beyond the table: the wider ones of the Latin alphabet


def _table(rows: dict[int, str], extra: dict[str, int]) -> dict[str, int]:
    widths = {letter: width for width, letters in rows.items() for letter in letters}
    return widths | extra


_WIDTHS = {
    False: _table(_PLAIN, _NOT_PLAIN),
    True: _table(_BOLD, {"m": 889, "µ": 611, "μ": 611}),
}


def _other(letter: str) -> int:
    if combining(letter):
        return 0
    return 1000 if east_asian_width(letter) in "WF" else _OTHER


def text_pixels(text: str, bold: bool = False) -> float:
    """The width of one line of drawing text in CSS pixels."""
    table = _WIDTHS[bold]
    return sum(table.get(letter) or _other(letter) for letter in text) * SIZE / 1000


def text_width(text: str, bold: bool = False) -> float:
    """The same in grid units."""
    return text_pixels(text, bold) / UNIT
