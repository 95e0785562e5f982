"""The shape of a lesson file: sections, keys, types and ranges, each described in a sentence.

pydantic models at the edge only. They check shape; what the words mean (notes, chords, counts, names from lists) is
checked where the lesson is built, so that each problem can point into the text. The descriptions are the source of
the JSON Schema that editors use and of docs/lesson-file.md.
"""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

from pydantic import BaseModel, ConfigDict, Field

from phrasewright.band.groove import GROOVES
from phrasewright.compose.costs import Weights
from phrasewright.compose.exercise import ExerciseKind, ExerciseOrder
from phrasewright.compose.lead_voice import LeadVoice
from phrasewright.compose.touches import HowOften
from phrasewright.compose.wish import USUAL_DIAL
from phrasewright.lesson.forms import FORMS
from phrasewright.lesson.model import FILE_KINDS, BandSound, SoundSpec
from phrasewright.melody.motif import MAX_NOTES, MIN_NOTES, Contour
from phrasewright.melody.priors import Idiom
from phrasewright.neck.catalogue import INSTRUMENT_KINDS
from phrasewright.neck.instrument import Hand
from phrasewright.neck.place import PositionStyle
from phrasewright.score.technique import Technique
from phrasewright.theory import meter as meters
from phrasewright.theory.scale import SCALE_KINDS
from phrasewright.units import A4_HZ

METERS = tuple(str(meter) for meter in meters.METERS)
DEFAULT_SIZES = (3, 4)
OTHER_INSTRUMENT = "other"  # any instrument that the catalogue lacks: its tuning must be written out
DEFAULT_SCALE = "minor-pentatonic"
MOST_STUDY_BARS = 128
MOST_STUDIES = 12
MOST_AGAIN = 24
MOST_LEFT_OUT = 60
USUAL_WEIGHTS = Weights()
USUAL_SOUND = SoundSpec()
USUAL_A4_HZ = int(A4_HZ)
MAX_STEP = 4  # a motif is made of neighbouring notes: four steps of a seven-note scale are a fifth
LEAST_TEMPO_BPM, GREATEST_TEMPO_BPM = 30, 300
LOWEST_A4_HZ, HIGHEST_A4_HZ = 415, 466  # half a tone about to either side of 440
SHAPES = tuple(str(shape) for shape in Contour if shape is not Contour.LEVEL)


def _names(*names: str, description: str, **more: Any) -> Any:
    """A key whose value is one of a closed list of words; the list stands in the JSON Schema for editors."""
    return Field(description=description, json_schema_extra={"enum": list(names)}, **more)


class Section(BaseModel):
    """Base of all sections: no coercion, no unknown keys."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)
    placeholders: ClassVar[dict[str, Any]] = {}  # stand in for required keys that are wrong, while the rest is checked


class LessonSection(Section):
    """What the lesson is called and what the student reads first."""

    placeholders = {"title": "?"}
    title: str = Field(description="Title, printed on every page.", min_length=1, max_length=120)
    words: str = Field(
        default="", description="Words for the student, printed first. Lines of text between triple quotes."
    )
    teacher: str = Field(default="", description="Name of the teacher, printed under the title.", max_length=120)
    school: str = Field(default="", description="Name of the school, printed under the title.", max_length=120)
    seed: int = Field(
        default=1,
        description="Any whole number. It fixes what chance decides; another number gives another study.",
        ge=0,
        le=2**32 - 1,
    )


class InstrumentSection(Section):
    """The instrument in the student's hands."""

    kind: str = _names(
        *INSTRUMENT_KINDS,
        OTHER_INSTRUMENT,
        description='The instrument. "other" is any with 3 to 12 strings; write its tuning out.',
        default="guitar",
    )
    tuning: str = Field(
        default="standard",
        description=(
            "Name of a tuning, or the notes of the open strings with their octaves (C4 is middle C), string 1 last: "
            '"D2 A2 D3 G3 B3 E4".'
        ),
        json_schema_extra={"examples": [tuning.id for tuning in INSTRUMENT_KINDS["guitar"].tunings]},
    )
    capo: int = Field(default=0, description="Fret the capo is on; 0 is no capo.", ge=0, le=31)
    frets: int | None = Field(
        default=None, description="Number of frets; left out, the instrument's usual one.", ge=12, le=36
    )
    fretting_hand: str = _names(
        *Hand,
        description='The hand on the neck: "left" for the usual build, "right" for a left-handed player.',
        default="left",
    )
    scale_length_mm: float | None = Field(
        default=None,
        description="Length of the open string in millimetres; left out, the instrument's usual one.",
        ge=200,
        le=1200,
    )


class ScaleSection(Section):
    """The scale the lesson is about."""

    placeholders = {"root": "C"}
    root: str = Field(description='The note the scale begins on: "E", "F#", "Bb".')
    kind: str | None = _names(
        *SCALE_KINDS,
        description=f'The scale\'s name. "{DEFAULT_SCALE}" when neither kind nor degrees is written.',
        default=None,
    )
    degrees: str | None = Field(
        default=None,
        description='A scale of your own instead of kind, by its degrees against the major scale: "1 b3 4 5 b7".',
    )


class PositionSection(Section):
    """Where on the neck the notes lie. The exact frets are searched for, so most keys can be left out."""

    style: str = _names(
        *PositionStyle,
        description='How the hand lies: "open", "box" (one place at any fret), "three per string" or "one string".',
        default="box",
    )
    fret: int | None = Field(default=None, description="About where the hand lies, counted from the nut.", ge=0, le=36)
    lowest_string: int | None = Field(
        default=None, description="Number of the lowest string to use (5 is the fifth string of a guitar).", ge=1, le=12
    )
    highest_string: int | None = Field(
        default=None, description="Number of the highest string to use (1 is the one nearest the floor).", ge=1, le=12
    )
    string: int | None = Field(default=None, description='The string to stay on, for "one string" only.', ge=1, le=12)
    notes_per_string: int | None = Field(
        default=None, description='Notes on each string, for "three per string" only; 3 when left out.', ge=2, le=4
    )
    added_above: int = Field(
        default=0, description="Extra scale notes above the position that the hand may reach for.", ge=0, le=5
    )
    added_below: int = Field(default=0, description="Extra scale notes below the position.", ge=0, le=5)
    left_out: list[str] | None = Field(
        default=None,
        description='Notes of the position that are not used: ["b7 cycle 2"], or ["4"] for every cycle.',
        min_length=1,
        max_length=MOST_LEFT_OUT,
    )
    max_stretch_mm: float | None = Field(
        default=None,
        description="Widest stretch from first to fourth finger in millimetres; left out, a comfortable one.",
        ge=20,
        le=300,
    )


class WrittenMotif(Section):
    """A motif written out by the teacher. One such block for each motif."""

    placeholders = {"degrees": "?"}
    degrees: str = Field(
        description=(
            'Its notes by degree, in playing order: "1 b3 4". Each note is the nearest one of that degree to the note '
            "before it, the upper one when both are equally near; up or down before a degree says where to look: "
            '"1 up 5".'
        )
    )
    cycle: int = Field(
        default=1, description="The octave of the position that its first note lies in; 1 is the lowest.", ge=1, le=8
    )
    name: str = Field(default="", description="A name to print; left out, it gets a letter.", max_length=40)


class MotifsSection(Section):
    """The small groups of notes that the student makes phrases from."""

    sizes: list[Annotated[int, Field(ge=MIN_NOTES, le=MAX_NOTES)]] | None = Field(
        default=None,
        description="How many notes the motifs have. Left out, [3, 4]; with motifs written out below, only those.",
        min_length=1,
    )
    shapes: list[str] = Field(
        default=["rising", "falling", "arch", "dip"],
        description=(
            "Which way they go: rising, falling, arch (up then down), dip (down then up), wave (turns more than once)."
        ),
        min_length=1,
        json_schema_extra={"items": {"type": "string", "enum": list(SHAPES)}},
    )
    largest_step: int = Field(
        default=1,
        description="Largest move between two notes in scale steps; 1 is to the next note.",
        ge=1,
        le=MAX_STEP,
    )
    cycles: list[Annotated[int, Field(ge=1, le=8)]] | None = Field(
        default=None,
        description="Octaves of the position to take them from, 1 the lowest. All when left out.",
        min_length=1,
    )
    shelf: int = Field(default=6, description="How many motifs the lesson offers in all.", ge=1, le=24)
    idiom: str | None = _names(
        *Idiom,
        description=(
            'Whose habits say what fits over a chord: "blues" or "jazz". Left out, blues for pentatonic and blues '
            "scales, jazz for the rest."
        ),
        default=None,
    )
    left_out: list[str] | None = Field(
        default=None,
        description='Motifs that are not to be chosen: ["1 b3 4"], ["5 4 b3 cycle 2"].',
        min_length=1,
        max_length=MOST_LEFT_OUT,
    )
    written: list[WrittenMotif] = Field(
        default=[], description="Motifs written out, each under its own [[motifs.written]] line.", max_length=24
    )


class RhythmSection(Section):
    """How the motifs are spoken, and how much silence stands between them."""

    counts: list[str] | None = Field(
        default=None,
        description=(
            'Rhythms written as they are spoken: "1 2 3", "1 & 2 3". A count serves the motifs that have as many notes '
            "as it plays, these two those of three and of four. Sizes without a count get plain ones."
        ),
        min_length=1,
        max_length=48,
    )
    space: float = Field(
        default=0.4, description="Least share of silence in phrases and studies, 0 to 0.9.", ge=0, le=0.9
    )


class BandSection(Section):
    """What the band plays."""

    meter: str = _names(*METERS, description="The meter.", default="4/4")
    groove: str | None = _names(
        *GROOVES,
        description=(
            'How it feels: a ready groove, or the name of a groove file in the lesson\'s folder, as "my-feel.toml". '
            "Left out, a plain one that fits the meter."
        ),
        default=None,
    )
    tempos: list[Annotated[float, Field(ge=LEAST_TEMPO_BPM, le=GREATEST_TEMPO_BPM)]] = Field(
        default=[60, 75, 90],
        description=(
            "Practice tempos in beats a minute, 30 to 300. The beat is the quarter note, in 6/8 and 12/8 the dotted "
            "quarter."
        ),
        min_length=1,
        max_length=6,
    )
    choruses: int = Field(
        default=2, description="How often the chart is played. The track may last ten minutes.", ge=1, le=20
    )
    form: str | None = _names(
        *FORMS, description="A ready chart instead of one written out, in the key of the scale's root.", default=None
    )
    key: str | None = Field(default=None, description="The key of the form, where it is not the scale's root.")
    chart: str | None = Field(
        default=None,
        description=(
            "The chords, a bar between two lines: | Em7 | A7 | % | F#m7b5 B7 |. What stands between |: and :| is "
            "repeated; 1. and 2. begin endings. Left out, four bars of the scale's own chord."
        ),
    )
    sound: str | None = _names(
        *BandSound,
        description=(
            'Where the sound comes from: "models", the program\'s own instruments, or "sampled", a SoundFont played by '
            "FluidSynth, where both are installed. Left out, sampled where a SoundFont is named."
        ),
        default=None,
    )
    soundfont: str | None = Field(
        default=None,
        description=(
            "The SoundFont for sampled sound: a file, seen from the lesson's folder, or the name of one that is "
            "installed. Left out, the one this computer usually takes."
        ),
        min_length=1,
    )
    a4: float = Field(
        default=USUAL_A4_HZ,
        description="Concert pitch: what the A above middle C sounds at, in hertz.",
        ge=LOWEST_A4_HZ,
        le=HIGHEST_A4_HZ,
    )
    files: list[str] = Field(
        default=list(USUAL_SOUND.files),
        description="Kinds of files for the band at each tempo, with and without the demonstration.",
        min_length=1,
        json_schema_extra={"items": {"type": "string", "enum": list(FILE_KINDS)}},
    )
    stems: list[str] = Field(
        default=list(USUAL_SOUND.stems),
        description="Kinds of files for each part alone; [] for none.",
        json_schema_extra={"items": {"type": "string", "enum": list(FILE_KINDS)}},
    )


class ExercisesSection(Section):
    """The exercises, from easy to hard."""

    order: str = _names(
        *ExerciseOrder,
        description=(
            "How they follow each other: as a course goes, with a rest for the hand after running, or strictly by "
            "difficulty."
        ),
        default=str(ExerciseOrder.COURSE),
    )

    kinds: list[str] | None = Field(
        default=None,
        description="Which kinds of exercise to make; all of them when left out.",
        min_length=1,
        json_schema_extra={"items": {"type": "string", "enum": list(ExerciseKind)}},
    )


class StudySection(Section):
    """Practice solos composed from the motifs, and the rules they must keep."""

    bars: int | None = Field(
        default=None,
        description="Length of each in bars; as long as the chart when left out.",
        ge=2,
        le=MOST_STUDY_BARS,
    )
    studies: int = Field(default=1, description="How many different studies to compose.", ge=1, le=MOST_STUDIES)
    dial: float = Field(
        default=USUAL_DIAL,
        description="How choosy composing is: 0 shuffles whatever the rules allow, 1 takes the best there is.",
        ge=0,
        le=1,
    )
    every_motif: bool | None = Field(
        default=None,
        description=(
            "Whether every motif of the shelf comes at least once, in long studies again and again. Left out, they do "
            "where the other rules leave room."
        ),
    )
    longest_run: int | None = Field(
        default=None,
        description="How often one motif may come running. Left out, twice where the other rules leave room.",
        ge=1,
        le=16,
    )
    most_space: float | None = Field(
        default=None,
        description="The most silence that every four bars may have, as a share; rhythm.space is the least.",
        ge=0.1,
        le=1,
    )
    endings: str | None = Field(
        default=None,
        description='How every phrase ends: "chord tones", or on one of these degrees: "1 b3 5".',
        min_length=1,
    )
    question_and_answer: bool = Field(
        default=False,
        description="Whether every second phrase answers the one before: the same count, another last note.",
    )
    another_ending: bool = Field(
        default=False,
        description="Whether every second phrase is the one before with another last note.",
    )
    first: str | None = Field(default=None, description='The first note: a degree, as "1" or "1 cycle 2".')
    last: str | None = Field(default=None, description='The last note: a degree, as "1" or "1 cycle 2".')
    peak: str | None = Field(
        default=None,
        description=(
            'The one highest note, which the line climbs to and reaches three quarters through: "5", or "5 cycle 2" '
            "for that of the second cycle."
        ),
    )
    hardest: float | None = Field(
        default=None,
        description="No phrase may be harder than this; beginners' phrases lie between 2 and 8.",
        ge=0.5,
    )
    difficulty: list[Annotated[float, Field(ge=0.5)]] | None = Field(
        default=None,
        description=(
            "The difficulty wished of the studies: one number for all, or the first and the last with the others "
            "climbing evenly between them, or one for each."
        ),
        min_length=1,
        max_length=MOST_STUDIES,
    )
    pins: list[str] | None = Field(
        default=None,
        description='Motifs that stand fixed in a bar: ["bar 1: A", "bar 9: C"].',
        min_length=1,
    )
    again: list[str] | None = Field(
        default=None,
        description=(
            'Bars that are drawn anew while the others stay, one entry after the other: ["bars 5-8"], '
            '["study 2: bars 1 3-4, turn 2"]. Another turn gives other bars; without a study it means all of them.'
        ),
        min_length=1,
        max_length=MOST_AGAIN,
    )


class WeightsSection(Section):
    """What counts when studies are composed, each 0 or more, in bits. Twice as much counts twice as much."""

    fit: float = Field(default=USUAL_WEIGHTS.fit, description="How usual a phrase's notes are over its chords.", ge=0)
    landing: float = Field(default=USUAL_WEIGHTS.landing, description="Ending on a chord tone.", ge=0)
    join: float = Field(default=USUAL_WEIGHTS.join, description="Going on smoothly from phrase to phrase.", ge=0)
    hand: float = Field(default=USUAL_WEIGHTS.hand, description="Each millimetre that the hand must go.", ge=0)
    again: float = Field(default=USUAL_WEIGHTS.again, description="The same motif twice running.", ge=0)
    difficulty: float = Field(
        default=USUAL_WEIGHTS.difficulty, description="Each step away from the difficulty wished.", ge=0
    )


class LeadSection(Section):
    """How the lead plays. Its voice is heard everywhere; techniques are for studies and track, exercises stay plain."""

    voice: str = _names(
        *LeadVoice,
        description="What the lead plays on, wherever it sounds. The clean electric guitar when left out.",
        default=str(LeadVoice.GUITAR),
    )

    techniques: list[str] | None = Field(
        default=None,
        description=(
            "What the lead may use, where a player would: hammer-on, pull-off, slide, bend, vibrato, palm mute, dead "
            "note. None when left out."
        ),
        min_length=1,
        json_schema_extra={"items": {"type": "string", "enum": list(Technique)}},
    )
    how_often: str = _names(
        *HowOften,
        description="How many of the fitting spots are taken: a fifth, nearly half or most; each technique comes once.",
        default=str(HowOften.USUAL),
    )


class PracticeSection(Section):
    """Other versions of the track to practise with, each a file of the easiest of band.files; none unless asked for."""

    tempo: float | None = Field(
        default=None,
        description="Their tempo; the first of band.tempos when left out.",
        ge=LEAST_TEMPO_BPM,
        le=GREATEST_TEMPO_BPM,
    )
    call_and_response: int | None = Field(
        default=None,
        description="The lead plays so many bars and leaves as many to the student, all through the track.",
        ge=1,
        le=8,
    )
    drums_out: list[int] | None = Field(
        default=None,
        description="The drums stay out for some bars of every so many: [1, 4] is the last bar of every four.",
        min_length=2,
        max_length=2,
    )
    lead_aside: bool = Field(default=False, description="Whether to make one with the lead left and the band right.")
    rising: float | None = Field(
        default=None, description="Each chorus is faster than the one before by so many beats a minute.", ge=1, le=20
    )
    fourths: bool = Field(default=False, description="Whether to make one in which every chorus is a fourth higher.")
    click: bool = Field(default=False, description="Whether to make one of clicks alone.")


class RecordingSection(Section):
    """A recording of your own instead of the band's track, at every tempo. Its files lie beside the lesson."""

    file: str | None = Field(default=None, description="The recording: WAV, FLAC, MP3 or Ogg, up to 15 minutes.")
    taps: str | None = Field(
        default=None,
        description="A text file with the seconds at which the first beats were tapped, from beat 1 of the chart.",
    )
    beats: str | None = Field(
        default=None,
        description='Instead of taps: the beats file that "phrasewright beats" wrote, mended by hand where needed.',
    )
    choruses: int | None = Field(
        default=None,
        description="How many choruses it has, with the chart's pick-up before and its coda after them. "
        "When left out, the chorus goes round as long as there is music.",
        ge=1,
        le=99,
    )
    stretch: str = _names(
        "usual",
        "fine",
        description="How it is brought to another tempo: fine is a slower engine, where pylibrb is installed.",
        default="usual",
    )
    first_bar: int = Field(
        default=1, description="The bar that the first tap is in, counted from the start; 0 is a pick-up.", ge=0, le=400
    )
    first_beat: int = Field(default=1, description="Which beat of its bar the first tap is.", ge=1, le=12)


class LessonFile(BaseModel):
    """A whole lesson file."""

    model_config = ConfigDict(extra="forbid", strict=True)
    lesson: LessonSection
    instrument: InstrumentSection = InstrumentSection()
    scale: ScaleSection
    position: PositionSection = PositionSection()
    motifs: MotifsSection = MotifsSection()
    rhythm: RhythmSection = RhythmSection()
    band: BandSection = BandSection()
    exercises: ExercisesSection = ExercisesSection()
    study: StudySection = StudySection()
    weights: WeightsSection = WeightsSection()
    lead: LeadSection = LeadSection()
    practice: PracticeSection = PracticeSection()
    recording: RecordingSection = RecordingSection()


SECTIONS: dict[str, type[Section]] = {
    name: field.annotation
    for name, field in LessonFile.model_fields.items()
    if isinstance(field.annotation, type) and issubclass(field.annotation, Section)
}


def json_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a lesson file, for editors that complete and check while typing."""
    schema = _without_null(LessonFile.model_json_schema())
    groove = schema["$defs"]["BandSection"]["properties"]["groove"]
    groove["anyOf"] = [{"enum": groove.pop("enum")}, {"pattern": r"^[^/\\]+\.toml$"}]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "Phrasewright lesson"}


def _without_null(node: Any) -> Any:
    """TOML has no null: drop it, and what only repeats the keys and defaults below."""
    if isinstance(node, list):
        return [_without_null(item) for item in node]
    if not isinstance(node, dict):
        return node
    kept = {key: value for key, value in node.items() if not (key == "title" and isinstance(value, str))}
    if kept.get("default", ...) is None or isinstance(kept.get("default"), dict):
        del kept["default"]
    choices = [choice for choice in kept.pop("anyOf", []) if choice.get("type") != "null"]
    for choice in choices:
        kept = {**choice, **kept}
    return {key: _without_null(value) for key, value in kept.items()}
