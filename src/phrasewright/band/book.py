"""The groove book: every pattern of every groove, by meter.

The signs are explained in ``groove``, the text form in ``steps``. Patterns are common practice, written for this
program: backbeat on two and four, the ride's long-short-short, hat on two and four in swing, roots and fifths, the
boogie's 1 3 5 6; odd meters follow their groups (5/4 = 3+2, 7/8 = 2+2+3).
"""

from __future__ import annotations

from typing import TypedDict


class Page(TypedDict):
    """One meter of a groove. fills: where in the bar they begin (quarter notes), slight to full."""

    beats: list[dict[str, str]]
    fills: list[tuple[str, dict[str, str]]]
    bass: list[str]
    chords: list[str]


STRAIGHT: dict[str, Page] = {
    "4/4": {
        "beats": [
            {"hat": "XoxoXoxo", "snare": "..X...X.", "kick": "X...X..."},
            {"hat": "XoxoXoxo", "snare": "..X...X.", "kick": "X..xX..."},
            {"ride": "XoxoXoxo", "snare": "..X...X.", "kick": "X...xx.x"},
        ],
        "fills": [
            ("3", {"snare": ".... .... .... x.xx", "kick": ".... .... .... x..."}),
            ("2", {"snare": ".... .... xxx. ....", "mid": ".... .... ...x x...", "low": ".... .... .... .xxX"}),
        ],
        "bass": ["R--RR---", "R--RR-5A", "R-R-R-5-", "R--R--5-"],
        "chords": ["x-..x-..", "x--x-...", "..x-..x.", "x--....p"],
    },
    "2/4": {
        "beats": [
            {"hat": "Xoxo", "snare": "..X.", "kick": "X..."},
            {"hat": "Xoxo", "snare": "..X.", "kick": "X..x"},
        ],
        "fills": [("1", {"snare": ".... x.xx"}), ("1", {"snare": ".... xx..", "low": ".... ..xX"})],
        "bass": ["R-5-", "R--A", "R-R-"],
        "chords": ["x-..", "..x.", "x.x."],
    },
    "3/4": {
        "beats": [
            {"hat": "Xoxoxo", "snare": "..x.x.", "kick": "X....."},
            {"hat": "Xoxoxo", "snare": "....X.", "kick": "X..x.."},
            {"ride": "Xoxoxo", "snare": "....X.", "kick": "X.x..."},
        ],
        "fills": [
            ("2", {"snare": ".... .... x.xx"}),
            ("1", {"snare": ".... xxx. ....", "mid": ".... ...x x...", "low": ".... .... .xxX"}),
        ],
        "bass": ["R---5-", "R--R5A", "R-R-5-"],
        "chords": ["x-....", "..x.x.", "x--x..", "x-..x."],
    },
    "5/4": {
        "beats": [
            {"hat": "XoxoxoXoxo", "snare": "....X...X.", "kick": "X.....X..."},
            {"hat": "XoxoxoXoxo", "snare": "..X.....X.", "kick": "X..x..X..."},
        ],
        "fills": [
            ("4", {"snare": ".... .... .... .... x.xx"}),
            ("3", {"snare": ".... .... .... xxx. ....", "low": ".... .... .... ...x xxxX"}),
        ],
        "bass": ["R---5-R-5-", "R--R5-R--A", "R-R-5-R-R-"],
        "chords": ["x-....x-..", "x--x..x...", "..x...x-.."],
    },
    "6/8": {
        "beats": [
            {"hat": "XooXoo", "snare": "...X..", "kick": "X....."},
            {"hat": "XooXoo", "snare": "...X..", "kick": "X.x..x"},
        ],
        "fills": [("2", {"snare": "....xx"}), ("3/2", {"snare": "...x..", "mid": "....x.", "low": ".....X"})],
        "bass": ["R--5--", "R-R5-A", "R----5"],
        "chords": ["x-....", "...x-.", "x-.x-."],
    },
    "7/8": {
        "beats": [
            {"hat": "XoXoXoo", "snare": "..X...x", "kick": "X...X.."},
            {"hat": "XoXoXoo", "snare": "..X..X.", "kick": "X..xX.."},
        ],
        "fills": [("5/2", {"snare": ".....xx"}), ("2", {"snare": "....x..", "mid": ".....x.", "low": "......X"})],
        "bass": ["R-R-5--", "R-5-R-A", "R---R--"],
        "chords": ["x-..x-.", "..x-x..", "x-....."],
    },
}

SHUFFLE: dict[str, Page] = {
    "4/4": {
        "beats": [
            {"hat": "XoXoXoXo", "snare": "..X...X.", "kick": "X...X..."},
            {"hat": "XoXoXoXo", "snare": "..X...X.", "ghost": ".....o.o", "kick": "X..xX..."},
            {"ride": "XoXoXoXo", "snare": "..X...X.", "kick": "x.x.x.x."},
        ],
        "fills": [
            ("3", {"snare": "......xx"}),
            ("2", {"snare": "....xx..", "mid": "......x.", "low": ".......X"}),
        ],
        "bass": ["R-3-5-6-", "R-3-5-A-", "R-R-5-5-", "R-5-6-5-"],
        "chords": ["..x...x.", ".o.x.o.x", "x..x....", "..x....p"],
    },
    "2/4": {
        "beats": [
            {"hat": "XoXo", "snare": "..X.", "kick": "X..."},
            {"ride": "XoXo", "snare": "..X.", "kick": "X..x"},
        ],
        "fills": [("1", {"snare": "..xx"}), ("1", {"snare": "..x.", "low": "...X"})],
        "bass": ["R-5-", "R-A-", "R-3-"],
        "chords": ["..x.", "x..x", ".o.x"],
    },
    "3/4": {
        "beats": [
            {"hat": "XoXoXo", "snare": "..x.x.", "kick": "X....."},
            {"ride": "XoXoXo", "snare": "....X.", "ghost": "...o..", "kick": "X..x.."},
        ],
        "fills": [("2", {"snare": "....xx"}), ("1", {"snare": "..xx..", "mid": "....x.", "low": ".....X"})],
        "bass": ["R-3-5-", "R-5-A-", "R-5-6-"],
        "chords": ["..x.x.", "...x.o", "x..x.."],
    },
}

SWING: dict[str, Page] = {
    "4/4": {
        "beats": [
            {"ride": "x.Xox.Xo", "pedal": "..x...x.", "kick": "f.f.f.f."},
            {"ride": "x.Xox.Xo", "pedal": "..x...x.", "kick": "f...f...", "ghost": "...o...."},
            {"ride": "x.Xox.Xo", "pedal": "..x...x.", "kick": "f.f.f.f.", "stick": "......x."},
            {"ride": "xoX.xoX.", "pedal": "..x...x.", "kick": "f...f..x", "ghost": ".....o.."},
        ],
        "fills": [
            ("3", {"snare": "......xo", "ride": "......x.", "pedal": "......x."}),
            ("2", {"snare": "....x.xx", "mid": ".....x..", "kick": ".......x", "pedal": "......x."}),
        ],
        "bass": ["R-w-w-A-", "R-w-w-A-", "R-w-wgA-", "R---5-A-"],
        "chords": ["x..x....", "...x..x.", ".x....x.", ".x.....p", "...x...."],
    },
    "2/4": {
        "beats": [
            {"ride": "x.Xo", "pedal": "..x.", "kick": "f..."},
            {"ride": "xoX.", "pedal": "..x.", "kick": "f...", "ghost": "...o"},
        ],
        "fills": [
            ("1", {"snare": "..xo", "pedal": "..x."}),
            ("1", {"snare": "..x.", "low": "...x", "pedal": "..x."}),
        ],
        "bass": ["R-A-", "R-w-"],
        "chords": [".x..", "..x.", "x..x"],
    },
    "3/4": {
        "beats": [
            {"ride": "x.Xox.", "pedal": "..x...", "kick": "x....."},
            {"ride": "x.xoXo", "pedal": "..x.x.", "kick": "x.....", "ghost": "...o.."},
            {"ride": "xoX.x.", "pedal": "..x...", "kick": "x..f..", "stick": "....x."},
        ],
        "fills": [
            ("2", {"snare": "....xo", "pedal": "....x."}),
            ("1", {"snare": "..x.x.", "mid": "...x..", "low": ".....X", "pedal": "..x..."}),
        ],
        "bass": ["R-w-A-", "R-wgA-", "R---A-"],
        "chords": ["x..x..", "..x...", "...x..", ".x...p"],
    },
    "5/4": {
        "beats": [
            {"ride": "x.Xox.X.xo", "pedal": "..x.....x.", "kick": "x.....x..."},
            {"ride": "x.xoX.x.Xo", "pedal": "..x.....x.", "kick": "x..f..x...", "ghost": "...o......"},
        ],
        "fills": [
            ("4", {"snare": "........xo", "pedal": "........x."}),
            ("3", {"snare": "......x.xx", "mid": ".......x..", "pedal": "........x."}),
        ],
        "bass": ["R-w-w-c-A-", "R---5-c-A-"],
        "chords": ["x..x......", "...x..x...", "x.....x..p"],
    },
}

SLOW_TWELVE: dict[str, Page] = {
    "12/8": {
        "beats": [
            {"hat": "XooXooXooXoo", "snare": "...X.....X..", "kick": "X.....X....."},
            {"hat": "XooXooXooXoo", "snare": "...X.....X..", "kick": "X....xX....."},
            {"ride": "XooXooXooXoo", "snare": "...X.....X..", "kick": "X....xX....x", "ghost": "........o..."},
        ],
        "fills": [
            ("5", {"snare": "..........xx"}),
            ("9/2", {"snare": ".........xx.", "low": "...........X"}),
        ],
        "bass": ["R----RR--5--", "R--3--5--6--", "R----RR--A--", "R----5R----A"],
        "chords": ["...x-....x-.", "x--...x--...", "...x-----...", "x-----..x-.."],
    },
    "6/8": {
        "beats": [
            {"hat": "XooXoo", "snare": "...X..", "kick": "X....."},
            {"ride": "XooXoo", "snare": "...X..", "kick": "X....x"},
        ],
        "fills": [("2", {"snare": "....xx"}), ("3/2", {"snare": "...xx.", "low": ".....X"})],
        "bass": ["R--5--", "R----A", "R--R-5"],
        "chords": ["...x-.", "x-....", "x--..."],
    },
}

SIXTEENTHS: dict[str, Page] = {
    "4/4": {
        "beats": [
            {"hat": "XoxoXoxoXoxoXoxo", "stick": "....X.......X...", "kick": "x.....o...o....."},
            {
                "hat": "XoxoXoxoXoxoXoxo",
                "stick": "....X.......X...",
                "ghost": ".......o.o......",
                "kick": "x..o......o..o..",
            },
            {
                "shaker": "XoxoXoxoXoxoXoxo",
                "stick": "....X.......X...",
                "kick": "x.....o.o.......",
                "open": "..............o.",
            },
        ],
        "fills": [
            ("7/2", {"ghost": "..............ox", "stick": "............X..."}),
            ("3", {"snare": "............o.oo", "low": "..............o."}),
        ],
        "bass": ["R-....R-R-....A-", "R--.R..8R-....5-", "R-.R..5-R--...A-"],
        "chords": ["..x...x.........", "x-....x...x-....", "....x-....x.....", "x--...........x."],
    },
    "2/4": {
        "beats": [
            {"hat": "XoxoXoxo", "stick": "....X...", "kick": "x.....o."},
            {"shaker": "XoxoXoxo", "stick": "....X...", "kick": "x..o...."},
        ],
        "fills": [("3/2", {"ghost": "......ox"}), ("1", {"snare": "....o.oo"})],
        "bass": ["R-..R-A-", "R--.5-R-"],
        "chords": ["..x...x.", "x-......", "....x-.."],
    },
    "3/4": {
        "beats": [
            {"hat": "XoxoXoxoXoxo", "stick": "........X...", "kick": "x.....o....."},
            {"shaker": "XoxoXoxoXoxo", "stick": "....x...X...", "kick": "x..o........"},
        ],
        "fills": [("5/2", {"ghost": "..........ox"}), ("2", {"snare": "........o.oo"})],
        "bass": ["R-....R-5-A-", "R--.R-..5---"],
        "chords": ["..x...x.....", "x-......x-..", "....x-......"],
    },
}
