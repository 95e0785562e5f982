"""MusicXML scores (score-partwise): the first part with pitched notes, in seconds by the tempos it states.

Ties are joined, chords and voices kept, grace notes and cues left out, transposing parts read as they sound. A
tablature staff under a staff of notes says the same again and is passed over. Repeats are not unfolded. Without a
tempo a quarter note lasts half a second.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from phrasewright.errors import NoteFileError, Problem
from phrasewright.intake.xml_text import line_of, parsed
from phrasewright.neck.fingering.line import LineNote
from phrasewright.theory.pitch import LETTER_SEMITONES

DEFAULT_BPM = 120.0
_ROOT = "score-partwise"
_SLOWEST_BPM, _FASTEST_BPM = 1.0, 2000.0


@dataclass(slots=True)
class _Written:
    """A note being read. onset, end: quarter notes."""

    pitch_midi: int
    onset: Fraction
    end: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    notes: list[_Written]
    tempos: list[tuple[Fraction, float]]


def read_musicxml(content: bytes, file: str) -> tuple[LineNote, ...]:
    """The notes by onset, then pitch. Raises NoteFileError."""
    root = parsed(content, file)
    if root.tag != _ROOT:
        raise NoteFileError(
            file,
            Problem(
                what=f"the file holds {str(root.tag)[:40]}, not {_ROOT}",
                hint="Export it as partwise MusicXML.",
                line=line_of(root),
            ),
        )
    parts = [_PartReader(part, file).read() for part in root.findall("part")]
    pitched = next((part for part in parts if part.notes), None)
    if pitched is None:
        return ()
    clock = _Clock([tempo for part in parts for tempo in part.tempos])
    notes = [
        LineNote(
            onset_s=clock.seconds(note.onset),
            duration_s=clock.seconds(note.end) - clock.seconds(note.onset),
            pitch_midi=note.pitch_midi,
        )
        for note in pitched.notes
    ]
    return tuple(sorted(notes, key=lambda note: (note.onset_s, note.pitch_midi)))


class _Clock:
    """Seconds of a moment in quarter notes."""

    def __init__(self, tempos: list[tuple[Fraction, float]]) -> None:
        changes = dict(sorted(tempos, key=lambda change: change[0]))
        changes.setdefault(Fraction(0), DEFAULT_BPM)
        self._onsets = sorted(changes)
        self._bpm = [changes[onset] for onset in self._onsets]
        self._starts_s = [0.0]
        for index in range(1, len(self._onsets)):
            span = self._onsets[index] - self._onsets[index - 1]
            self._starts_s.append(self._starts_s[-1] + float(span) * 60.0 / self._bpm[index - 1])

    def seconds(self, moment: Fraction) -> float:
        index = bisect_right(self._onsets, moment) - 1
        return self._starts_s[index] + float(moment - self._onsets[index]) * 60.0 / self._bpm[index]


class _PartReader:
    """Walks through a part: ``now`` moves with notes, backup and forward; a chord note shares the onset before."""

    def __init__(self, part: etree._Element, file: str) -> None:
        self._part, self._file = part, file
        self._divisions, self._transposed = Fraction(1), 0
        self._now = self._onset = Fraction(0)
        self._clefs: dict[str, str] = {}  # staff number -> sign
        self._tied: dict[tuple[int, str], _Written] = {}
        self._found = _Part(notes=[], tempos=[])

    def read(self) -> _Part:
        for measure in self._part.findall("measure"):
            start = furthest = self._now
            for element in measure:
                self._element(element)
                furthest = max(furthest, self._now)
                self._now = max(self._now, start)
            self._now = furthest
        return self._found

    def _element(self, element: etree._Element) -> None:
        match element.tag:
            case "attributes":
                self._attributes(element)
            case "note":
                self._note(element)
            case "backup":
                self._now -= self._quarters(element)
            case "forward":
                self._now += self._quarters(element)
            case "direction":
                for sound in element.findall("sound"):
                    self._sound(sound)
            case "sound":
                self._sound(element)

    def _attributes(self, attributes: etree._Element) -> None:
        divisions = attributes.find("divisions")
        if divisions is not None:
            self._divisions = self._fraction(divisions)
            if self._divisions <= 0:
                raise self._problem(divisions, "divisions must be above 0")
        self._clefs |= {clef.get("number", "1"): clef.findtext("sign", "") for clef in attributes.findall("clef")}
        transpose = attributes.find("transpose")
        if transpose is not None:
            octaves, semitones = transpose.find("octave-change"), transpose.find("chromatic")
            self._transposed = (0 if semitones is None else int(self._fraction(semitones))) + 12 * (
                0 if octaves is None else int(self._fraction(octaves))
            )

    def _note(self, note: etree._Element) -> None:
        if note.find("grace") is not None:
            return
        length = self._quarters(note)
        if note.find("chord") is None:
            self._onset = self._now
            self._now += length
        pitch = note.find("pitch")
        if pitch is None or note.find("cue") is not None or self._says_again(note):
            return
        self._sounding(note, self._pitch_midi(pitch), self._onset, self._onset + length)

    def _says_again(self, note: etree._Element) -> bool:
        """Whether a note stands on the tablature staff of a part that also has a staff of notes."""
        return self._clefs.get(note.findtext("staff", "1")) == "TAB" and set(self._clefs.values()) != {"TAB"}

    def _sounding(self, note: etree._Element, pitch_midi: int, onset: Fraction, end: Fraction) -> None:
        ties = {tie.get("type") for tie in note.findall("tie")}
        key = pitch_midi, note.findtext("voice", "")
        held = self._tied.pop(key, None)
        if held is not None and "stop" in ties and held.end == onset:
            held.end = end
        else:
            held = _Written(pitch_midi, onset, end)
            self._found.notes.append(held)
        if "start" in ties:
            self._tied[key] = held

    def _pitch_midi(self, pitch: etree._Element) -> int:
        step, octave, alter = pitch.findtext("step", ""), pitch.find("octave"), pitch.find("alter")
        if step not in LETTER_SEMITONES or octave is None:
            raise self._problem(pitch, "a pitch needs a step A to G and an octave")
        raised = Fraction(0) if alter is None else self._fraction(alter)
        midi = 12 * (int(self._fraction(octave)) + 1) + LETTER_SEMITONES[step] + round(raised) + self._transposed
        if not 0 <= midi <= 127:
            raise self._problem(pitch, "a pitch lies beyond what MIDI numbers")
        return midi

    def _sound(self, sound: etree._Element) -> None:
        text = sound.get("tempo")
        if text is None:
            return
        try:
            tempo_bpm = float(text)
        except ValueError:
            tempo_bpm = 0.0
        if not _SLOWEST_BPM <= tempo_bpm <= _FASTEST_BPM:
            raise self._problem(sound, f"the tempo {text[:20]!r} is not a number from 1 to 2000")
        self._found.tempos.append((self._now, tempo_bpm))

    def _quarters(self, element: etree._Element) -> Fraction:
        duration = element.find("duration")
        length = Fraction(0) if duration is None else self._fraction(duration) / self._divisions
        if length < 0:
            raise self._problem(element, "a duration must not be below 0")
        return length

    def _fraction(self, element: etree._Element) -> Fraction:
        text = (element.text or "").strip()
        try:
            if len(text) > 20 or "e" in text.lower():
                raise ValueError
            return Fraction(text)
        except (ValueError, ZeroDivisionError) as error:
            raise self._problem(element, f"{element.tag} is {text[:20]!r}, not a number") from error

    def _problem(self, element: etree._Element, what: str) -> NoteFileError:
        hint = "Export it again as MusicXML, or mend this line."
        return NoteFileError(self._file, Problem(what=what, hint=hint, line=line_of(element)))
