"""Letters and digits to be read from across a bench, made of half blocks: two dots to a character's
height. No terminal touched here.
"""

_DOTS = {
    "A": ".#. #.# ### #.# #.#",
    "B": "##. #.# ##. #.# ##.",
    "C": ".## #.. #.. #.. .##",
    "D": "##. #.# #.# #.# ##.",
    "E": "### #.. ##. #.. ###",
    "F": "### #.. ##. #.. #..",
    "G": ".### #... #.## #..# .###",
    "H": "#.# #.# ### #.# #.#",
    "I": "### .#. .#. .#. ###",
    "J": "..# ..# ..# #.# .#.",
    "K": "#..# #.#. ##.. #.#. #..#",
    "L": "#.. #.. #.. #.. ###",
    "M": "#...# ##.## #.#.# #...# #...#",
    "N": "#..# ##.# #.## #..# #..#",
    "O": ".##. #..# #..# #..# .##.",
    "P": "##. #.# ##. #.. #..",
    "Q": ".##. #..# #..# #.## .###",
    "R": "##. #.# ##. #.# #.#",
    "S": ".## #.. .#. ..# ##.",
    "T": "### .#. .#. .#. .#.",
    "U": "#..# #..# #..# #..# .##.",
    "V": "#.# #.# #.# #.# .#.",
    "W": "#...# #...# #.#.# ##.## #...#",
    "X": "#.# #.# .#. #.# #.#",
    "Y": "#.# #.# .#. .#. .#.",
    "Z": "### ..# .#. #.. ###",
    "0": "### #.# #.# #.# ###",
    "1": ".#. ##. .#. .#. ###",
    "2": "### ..# ### #.. ###",
    "3": "### ..# .## ..# ###",
    "4": "#.# #.# ### ..# ..#",
    "5": "### #.. ### ..# ###",
    "6": "### #.. ### #.# ###",
    "7": "### ..# ..# .#. .#.",
    "8": "### #.# ### #.# ###",
    "9": "### #.# ### ..# ###",
    "°": "### #.# ### ... ...",
    "-": "... ... ### ... ...",
    "+": "... .#. ### .#. ...",
    "/": "..# ..# .#. #.. #..",
    ".": ". . . . #",
    ",": ".. .. .. .# #.",
    ":": ". # . # .",
    "?": "##. ..# .#. ... .#.",
    "'": "# # . . .",
    "_": "... ... ... ... ###",
    " ": ".. .. .. .. ..",
}
"""Five rows of dots a character, of our own drawing. Small letters are shown as capitals."""

_HALVES = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
ROWS_OF_DOTS = 5


def rows_of(scale: int) -> int:
    """How many lines characters of this scale are high: 3, 5, 8 for 1, 2, 3."""
    return (ROWS_OF_DOTS * scale + 1) // 2


def is_drawable(text: str) -> bool:
    """Each of its characters has a drawing."""
    return all(char in _DOTS for char in text.upper())


def width_of(text: str, scale: int = 1) -> int:
    """How many columns a text takes."""
    wide = sum(len(_DOTS[char].split()[0]) + 1 for char in text.upper())
    return max(0, wide - 1) * scale


def large(text: str, scale: int = 1) -> list[str]:
    """A text that is drawable, in lines of equal length."""
    glyphs = [_DOTS[char].split() for char in text.upper()]
    rows = [".".join(glyph[row] for glyph in glyphs) for row in range(ROWS_OF_DOTS)]
    dots = [[dot == "#" for dot in row for _ in range(scale)] for row in rows for _ in range(scale)]
    if len(dots) % 2:
        dots.append([False] * len(dots[0]))
    return [
        "".join(_HALVES[pair] for pair in zip(above, below, strict=True))
        for above, below in zip(dots[::2], dots[1::2], strict=True)
    ]


def large_lines(text: str, width: int, scale: int = 1, most: int = 2) -> list[str]:
    """A text in at most `most` rows of characters, broken between its words; empty where it does
    not fit, or has a character without a drawing.
    """
    if not text or not is_drawable(text):
        return []
    broken = [""]
    for word in text.split():
        longer = f"{broken[-1]} {word}".strip()
        if width_of(longer, scale) <= width:
            broken[-1] = longer
        else:
            broken.append(word)
    if len(broken) > most or any(width_of(row, scale) > width for row in broken):
        return []
    return [line for row in broken for line in large(row, scale)]
