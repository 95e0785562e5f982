"""From the text of a groove file to a ``Groove``, with every mistake told.

The file is TOML; docs/band.md describes its keys and signs. All mistakes are collected and raised together, each with
its place (``plan[1].beats[2].hat``, counted from 1), what is wrong and how to mend it.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from types import MappingProxyType

from phrasewright.band.groove_model import (
    BASS_SIGNS,
    CHORD_SIGNS,
    DRUM_SIGNS,
    BassStyle,
    ChordStyle,
    DrumBeat,
    Fill,
    Groove,
    GrooveError,
    Plan,
)
from phrasewright.band.steps import BAR_LINE, HOLD, REST, bars_of, fitting_lengths, signs_of, unheld
from phrasewright.errors import Problem
from phrasewright.score.model import Drum
from phrasewright.score.performance import FASTEST_BPM, SLOWEST_BPM, SwingCurve
from phrasewright.theory.meter import METERS, Meter

DRUM_KEYS: Mapping[str, Drum] = {
    "kick": Drum.KICK,
    "snare": Drum.SNARE,
    "ghost": Drum.GHOST,
    "stick": Drum.SIDE_STICK,
    "hat": Drum.CLOSED_HAT,
    "pedal": Drum.PEDAL_HAT,
    "open": Drum.OPEN_HAT,
    "ride": Drum.RIDE,
    "bell": Drum.RIDE_BELL,
    "crash": Drum.CRASH,
    "high": Drum.HIGH_TOM,
    "mid": Drum.MID_TOM,
    "low": Drum.LOW_TOM,
    "shaker": Drum.SHAKER,
    "click": Drum.CLICK,
}
GUITARS = ("guitar", "rhythm guitar", "muted guitar", "acoustic guitar", "nylon guitar", "driven guitar")
VOICES = (*GUITARS, "bass", "electric piano", "organ")
EVEN, LONGEST_SWING = 1, 4  # swing ratios; drummers swing up to 3.5 (Friberg & Sundstroem 2002)
_AT_LINE = re.compile(r" \(at line (\d+), column (\d+)\)$")
_NUMBER = re.compile(r"\[\d+\]")


class GrooveFileError(GrooveError):
    """A groove file with mistakes; carries every problem found, not only the first."""

    def __init__(self, file: str, problems: tuple[Problem, ...]) -> None:
        super().__init__(f"{file}: {len(problems)} problem{'s' * (len(problems) > 1)}")
        self.file = file
        self.problems = problems

    def __str__(self) -> str:
        return "\n".join(problem.render(self.file) for problem in self.problems)


def read_groove(text: str, name: str) -> Groove:
    """The groove that a text states. name: the file's, for messages. Raises GrooveFileError with every mistake."""
    problems: list[Problem] = []
    try:
        table = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # also numbers and nests that are far too long
        raise GrooveFileError(name, (_syntax_problem(str(error)),)) from None
    groove = _groove(_Section("", table, problems))
    if problems:
        raise GrooveFileError(name, tuple(problems))
    return groove


def _syntax_problem(message: str) -> Problem:
    place = _AT_LINE.search(message)
    line, column = (int(place[1]), int(place[2])) if place else (None, None)
    what = f"the file cannot be read here: {_AT_LINE.sub('', message)}"
    return Problem(what=what, hint='A line is a section, [drums], or a key, hat = "X.x.".', line=line, column=column)


@dataclass(frozen=True, slots=True)
class _Section:
    """A table of the file: what its keys must hold, and the list that problems go to. path: its name in messages."""

    path: str
    table: Mapping[str, object]
    problems: list[Problem]

    def wrong(self, key: str, what: str, hint: str) -> None:
        """Note a problem with a key."""
        self.problems.append(Problem(what=what, hint=hint, where=f"{self.path}.{key}".strip(".")))

    def allow(self, *keys: str) -> None:
        """Note every other key."""
        for key in self.table:
            if key not in keys:
                shown = _shown(key)
                self.wrong(shown.strip('"'), f"there is no key {shown} here", _did_you_mean(key, keys))

    def text(self, key: str) -> str:
        """A text that must be there; empty after noting that it is not."""
        value = self.table.get(key)
        if isinstance(value, str) and value.strip():
            return value
        if key in self.table:
            self.wrong(key, "this must be a text", f'Write {key} = "...".')
        else:
            self.wrong(key, f'the key "{key}" is missing', f'Add a line {key} = "...".')
        return ""

    def word(self, key: str, known: Iterable[str], usual: str) -> str:
        """One word of a list, the usual one when the key is left out."""
        value, names = self.table.get(key, usual), tuple(known)
        if value in names:
            return str(value)
        self.wrong(key, f"there is no {key} {_shown(value)}", _did_you_mean(str(value), names))
        return usual

    def items(self, key: str) -> list[object]:
        """A list, empty when the key is left out."""
        value = self.table.get(key, [])
        if isinstance(value, list):
            return value
        self.wrong(key, "this must be a list", "Put it into [ ], its items between commas.")
        return []

    def section(self, key: str) -> _Section:
        """The table ``[key]``, empty when it is left out."""
        value = self.table.get(key, {})
        if not isinstance(value, dict):
            self.wrong(key, "this must be a section", f"Write [{key}] on a line of its own and its keys below.")
            value = {}
        return _Section(f"{self.path}.{key}".strip("."), value, self.problems)

    def sections(self, key: str) -> list[_Section]:
        """The tables ``[[key]]``."""
        path = f"{self.path}.{key}".strip(".")
        value = self.table.get(key, [])
        if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
            heading = _NUMBER.sub("", path)
            self.wrong(key, "this must be sections", f"Write [[{heading}]] above each.")
            return []
        return [_Section(f"{path}[{number}]", one, self.problems) for number, one in enumerate(value, start=1)]


def _groove(file: _Section) -> Groove:
    file.allow("id", "name", "description", "swing", "drums", "bass", "chords", "plan")
    drums, bass, chords = file.section("drums"), file.section("bass"), file.section("chords")
    drums.allow("crash")
    bass.allow("voice", "style")
    chords.allow("voice", "style")
    crash = drums.word("crash", DRUM_KEYS, "crash") if "crash" in drums.table else None
    bass_style = BassStyle(bass.word("style", BassStyle, BassStyle.ROOTS))
    signs = BASS_SIGNS + HOLD + (BAR_LINE if bass_style is BassStyle.RIFF else "")
    return Groove(
        id=file.text("id"),
        name=file.text("name"),
        description=file.text("description"),
        plans=_plans(file, signs, swings="swing" in file.table),
        swing=_swing(file),
        chord_voice=chords.word("voice", VOICES, "rhythm guitar"),
        chord_style=ChordStyle(chords.word("style", ChordStyle, ChordStyle.VOICINGS)),
        bass_voice=bass.word("voice", VOICES, "bass"),
        bass_style=bass_style,
        crash=None if crash is None else DRUM_KEYS[crash],
    )


def _swing(file: _Section) -> SwingCurve:
    """The points of the curve; tempos must rise, ratios lie between even and the longest."""
    points: list[tuple[float, float]] = []
    for number, item in enumerate(file.items("swing"), start=1):
        match item:
            case [int() | float() as tempo_bpm, int() | float() as ratio]:
                if not SLOWEST_BPM <= tempo_bpm <= FASTEST_BPM or not EVEN <= ratio <= LONGEST_SWING:
                    tempos = f"{SLOWEST_BPM:g} to {FASTEST_BPM:g}"
                    hint = f"Tempos lie in {tempos}, ratios in {EVEN} (even) to {LONGEST_SWING}."
                    file.wrong(f"swing[{number}]", f"{tempo_bpm} and {ratio} are no tempo and swing ratio", hint)
                elif points and tempo_bpm <= points[-1][0]:
                    what = f"the tempo {tempo_bpm} comes after {points[-1][0]:g}"
                    file.wrong(f"swing[{number}]", what, "Write the points by rising tempo.")
                else:
                    points.append((float(tempo_bpm), float(ratio)))
            case _:
                hint = "Write [tempo in quarter notes a minute, long to short], as [120, 2.0]."
                file.wrong(f"swing[{number}]", "this must be a pair of numbers", hint)
    return SwingCurve(tuple(points))


def _plans(file: _Section, bass_signs: str, *, swings: bool) -> Mapping[Meter, Plan]:
    """The plans by meter, in the file's order. bass_signs: what its bass patterns may hold besides silence."""
    plans: dict[Meter, Plan] = {}
    sections = file.sections("plan")
    if not sections and not isinstance(file.table.get("plan"), list | dict):
        file.wrong("plan", "there is no plan", 'Write [[plan]] and meter = "4/4" below it.')
    for section in sections:
        meter = _meter(section)
        if meter is None:
            continue
        if meter in plans:
            section.wrong("meter", f"there is a plan for {meter} already", "Put both into one, as variations.")
            continue
        if swings and meter.lower != 4:
            section.wrong("meter", f"{meter} cannot swing", "Swing divides quarters: leave out swing, or this plan.")
        plans[meter] = _plan(section, meter, bass_signs)
    return MappingProxyType(plans)


def _meter(section: _Section) -> Meter | None:
    text = section.text("meter")
    found = next((meter for meter in METERS if str(meter) == text.strip()), None)
    if text and found is None:
        section.wrong("meter", f"there is no meter {_shown(text)}", f"Meters are {', '.join(map(str, METERS))}.")
    return found


def _plan(section: _Section, meter: Meter, bass_signs: str) -> Plan:
    noted = len(section.problems)
    section.allow("meter", "beats", "fills", "bass", "chords")
    plan = Plan(
        beats=tuple(_beat(one, meter) for one in section.sections("beats")),
        fills=tuple(_fill(one, meter) for one in section.sections("fills")),
        bass=_patterns(section, "bass", bass_signs, meter),
        chords=_patterns(section, "chords", CHORD_SIGNS + HOLD, meter),
    )
    if plan.fills and not plan.beats:
        section.wrong("fills", "fills without a beat to leave", "Add a beat under [[plan.beats]].")
    if not (plan.beats or plan.bass or plan.chords) and len(section.problems) == noted:
        section.wrong("meter", "this plan plays nothing", "Add [[plan.beats]], bass or chords.")
    return plan


def _beat(section: _Section, meter: Meter) -> DrumBeat:
    section.allow(*DRUM_KEYS)
    if not section.table:
        section.wrong("", "this has no drums", 'Write a line for each piece, as hat = "xxxx".')
    keys = [key for key in section.table if key in DRUM_KEYS]
    return DrumBeat(
        lanes=tuple((DRUM_KEYS[key], _pattern(section, key, section.text(key), DRUM_SIGNS, meter)) for key in keys)
    )


def _fill(section: _Section, meter: Meter) -> Fill:
    """A fill takes over at its first stroke."""
    beat = _beat(section, meter)
    silent = [Fraction(len(signs) - len(signs.lstrip(REST)), len(signs)) for _, signs in beat.lanes if signs]
    if silent and min(silent) == 1:
        section.wrong("", "there is no stroke in this fill", "Write x where it plays.")
    return Fill(start=min(silent, default=Fraction(0)) * meter.bar, beat=beat)


def _patterns(section: _Section, key: str, signs: str, meter: Meter) -> tuple[str, ...]:
    patterns: list[str] = []
    for number, item in enumerate(section.items(key), start=1):
        where = f"{key}[{number}]"
        if isinstance(item, str):
            patterns.append(_pattern(section, where, item, signs, meter))
        else:
            section.wrong(where, "this must be a text", 'Write patterns in quotes, as "x-..".')
    return tuple(patterns)


def _pattern(section: _Section, key: str, text: str, known: str, meter: Meter) -> str:
    """A pattern without its spaces, after noting unknown signs and what is wrong with its bars."""
    signs = signs_of(text)
    unknown = next((place for place, sign in enumerate(signs) if sign not in known + REST), None)
    if unknown is not None:
        what = f"there is no sign {_shown(signs[unknown])} (step {unknown + 1})"
        hint = f"Signs here: {' '.join(known + REST)}"
        section.wrong(
            key, what, hint if signs[unknown] != BAR_LINE else f"{hint}. Bar lines stand in a bass riff only."
        )
        return signs
    bars = bars_of(signs)
    for number, bar in enumerate(bars, start=1):
        _check_bar(section, key, bar, meter, f"bar {number}: " if len(bars) > 1 else "")
    return signs


def _check_bar(section: _Section, key: str, signs: str, meter: Meter, which: str) -> None:
    """Note a bar that is not filled, or a hold that holds nothing. which: says where in a riff."""
    lengths, silent = fitting_lengths(meter), unheld(signs)
    if len(signs) not in lengths and (signs or which or "[" in key):
        what = f"{which}{len(signs)} step{'s' * (len(signs) != 1)} do not fill a bar of {meter}"
        section.wrong(key, what, f"Write {', '.join(map(str, lengths[:-1]))} or {lengths[-1]} signs.")
    elif silent is not None:
        what = f"{which}there is nothing to hold at step {silent}"
        section.wrong(key, what, "Put a stroke before it, or write . for silence.")


def _did_you_mean(word: str, known: Iterable[str]) -> str:
    names = list(known)
    close = get_close_matches(word.lower(), names, n=1)
    return f'Did you mean "{close[0]}"?' if close else f"Known are {', '.join(names)}."


def _shown(value: object) -> str:
    """A value as a file has it, on one line."""
    return f'"{repr(value)[1:-1]}"' if isinstance(value, str) else str(value)
