"""The table of everything that may be said of a take: from where on, on how many notes, and why there.

``limit`` is in ``unit``, ``least`` counts what ``of`` names. weight: how much a kind matters for an improviser, 0..1:
our design, what a teacher would mend first. Sources, by sections of docs/sources.md: JND = just noticeable difference,
max(6 ms, 2.5 % of the time from note to note) (5); WJD = measured on the Weimar Jazz Database (3.6, times in 5).
docs/findings.md prints the table; a test holds the two together.
"""

from __future__ import annotations

from dataclasses import dataclass

from phrasewright.listen.finding import Tone, Topic

# What soloists do, for comparison (docs/sources.md 5): tempo up to, how late they are on the beat on average, and how
# widely they lie around that, one standard deviation; the last row holds for anything faster.
SOLOISTS_BEAT_MS = (
    (90.0, 36.0, 45.0),
    (120.0, 31.0, 34.0),
    (150.0, 26.0, 32.0),
    (180.0, 20.0, 27.0),
    (220.0, 16.0, 24.0),
    (260.0, 9.0, 22.0),
    (float("inf"), 5.0, 21.0),
)
SOLOISTS_RATIO = 1.3  # long to short eighth over a swinging band, on average


@dataclass(frozen=True, slots=True, kw_only=True)
class Threshold:
    """One kind of finding. measure: what is compared with the limit; least: how many of what, at least."""

    kind: str
    topic: Topic
    tone: Tone
    measure: str
    limit: float
    unit: str
    least: int
    of: str
    weight: float
    source: str


_GOOD, _NOTE, _WORK = Tone.GOOD, Tone.NOTE, Tone.WORK
_ROWS: tuple[tuple[str, Topic, Tone, str, float, str, int, str, float, str], ...] = (
    # --- space
    ("no-space", Topic.SPACE, _WORK, "silence at most", 0.6, "of the wished share", 4, "bars", 0.9, "our design"),
    ("long-run", Topic.SPACE, _WORK, "longest run without a rest over", 12.0, "s", 16, "notes", 0.65,
     "3 x the upper quartile of WJD phrases, 4.0 s"),
    ("much-space", Topic.SPACE, _NOTE, "silence over", 0.75, "of the time", 4, "bars", 0.3,
     "WJD solos rest 20 % of the time; our design"),
    ("room", Topic.SPACE, _GOOD, "silence at least", 1.0, "of the wished share", 4, "bars", 0.5, "our design"),
    # --- motifs
    ("one-motif", Topic.MOTIFS, _WORK, "commonest motif over", 0.6, "of the motifs played", 6, "motifs", 0.85,
     "our design"),
    ("recited", Topic.MOTIFS, _WORK, "next letter of the shelf follows over", 0.65, "of the steps", 7, "motifs", 0.75,
     "a shuffled shelf of four has 0.25; our design"),
    ("off-shelf", Topic.MOTIFS, _WORK, "notes in shelf motifs under", 0.3, "of the notes", 24, "notes", 0.6,
     "our design"),
    ("unused", Topic.MOTIFS, _NOTE, "motifs of the shelf left out over", 0.0, "motifs", 8, "motifs", 0.3,
     "our design"),
    ("mixed", Topic.MOTIFS, _GOOD, "evenness of the motifs over", 0.75, "of the most even", 6, "motifs", 0.6,
     "our design"),
    # --- landing notes
    ("few-landings", Topic.LANDING, _WORK, "phrases ending on a chord tone under", 0.45, "of the phrases", 5,
     "phrases", 0.85, "WJD solos 62 %, chance 33 %: half way"),
    ("clash-endings", Topic.LANDING, _WORK, "phrases ending on a clash over", 0.25, "of the phrases", 5, "phrases",
     0.8, "fit of docs/melody.md; our design"),
    ("same-landing", Topic.LANDING, _NOTE, "phrases ending on the same note over", 0.75, "of the phrases", 6,
     "phrases", 0.35, "our design"),
    ("landings", Topic.LANDING, _GOOD, "phrases ending on a chord tone over", 0.5, "of the phrases", 5, "phrases",
     0.65, "WJD solos 62 %, chance 33 %: upper half"),
    # --- rhythm
    ("one-rhythm", Topic.RHYTHM, _WORK, "commonest step in time over", 0.88, "of the steps", 24, "steps", 0.7,
     "our design"),
    ("beats-only", Topic.RHYTHM, _WORK, "notes on the beat over", 0.88, "of the notes", 24, "notes", 0.6,
     "our design"),
    ("same-start", Topic.RHYTHM, _WORK, "phrases starting on the same count over", 0.65, "of the phrases", 6,
     "phrases", 0.45, "our design"),
    ("varied", Topic.RHYTHM, _GOOD, "commonest step in time under", 0.6, "of the steps", 24, "steps", 0.45,
     "our design"),
    # --- timing
    ("late", Topic.TIMING, _WORK, "behind the usual lag of soloists over", 3.0, "JND", 12, "notes", 0.7,
     "noticed in music at 3 to 4 JND (5); lag: WJD by tempo"),
    ("early", Topic.TIMING, _WORK, "ahead of the count over", 3.0, "JND", 12, "notes", 0.7,
     "noticed in music at 3 to 4 JND (5)"),
    ("uneven", Topic.TIMING, _WORK, "spread over", 1.3, "of soloists' spread at the tempo", 16, "notes", 0.75,
     "WJD by tempo; our design"),
    ("scattered", Topic.TIMING, _WORK, "stray notes, on no eighth and in no run, over", 0.15, "of the notes", 24,
     "notes", 0.75, "our design; and notes lie about their counts nearly as chance has it"),
    ("rushing", Topic.TIMING, _WORK, "tempo gained over", 3.0, "%", 24, "notes", 0.85, "heard from 3 % on (5)"),
    ("dragging", Topic.TIMING, _WORK, "tempo lost over", 3.0, "%", 24, "notes", 0.85, "heard from 3 % on (5)"),
    ("too-straight", Topic.TIMING, _WORK, "second eighth ahead of the usual swing of soloists by over", 3.0, "JND",
     10, "off-beat notes", 0.65, "soloists swing 1.3 to 1 (5); 3 JND"),
    ("too-swung", Topic.TIMING, _WORK, "second eighth behind the groove's by over", 3.0, "JND", 10, "off-beat notes",
     0.65, "soloists swing no more than drummers (5); 3 JND"),
    ("steady", Topic.TIMING, _GOOD, "spread under", 1.0, "of soloists' spread at the tempo", 16, "notes", 0.6,
     "WJD by tempo"),
    # --- scale
    ("outside", Topic.SCALE, _WORK, "notes outside scale and chord that lead nowhere over", 0.05, "of the notes", 24,
     "notes", 0.8, "our design"),
    ("one-outside", Topic.SCALE, _WORK, "the same, most of them one note, over", 0.05, "of the notes", 24, "notes",
     0.85, "our design"),
    ("in-scale", Topic.SCALE, _GOOD, "notes outside scale and chord under", 0.03, "of the notes", 40, "notes", 0.3,
     "our design"),
    # --- range
    ("narrow", Topic.RANGE, _WORK, "span of the middle nine tenths under", 8.0, "semitones", 24, "notes", 0.6,
     "lower quartile of single WJD phrases"),
    ("jumpy", Topic.RANGE, _WORK, "jumps of a sixth (8 semitones) or more over", 0.2, "of the steps", 24, "steps",
     0.55, "WJD 2.6 %; our design"),
    ("wide", Topic.RANGE, _GOOD, "span of the middle nine tenths over", 15.0, "semitones", 24, "notes", 0.35,
     "median of WJD guitar phrases"),
    # --- development
    ("nothing-returns", Topic.DEVELOPMENT, _WORK, "notes in ideas that come back under", 0.15, "of the notes", 32,
     "notes", 0.6, "83 % in jazz (3.6); our design, since takes are short"),
    ("never-changed", Topic.DEVELOPMENT, _NOTE, "motifs changed at most", 0.05, "of the motifs", 10, "motifs", 0.35,
     "a quarter of WJD ideas derive from one before; our design"),
    ("developed", Topic.DEVELOPMENT, _GOOD, "motifs changed over", 0.15, "of the motifs", 6, "motifs", 0.6,
     "a quarter of WJD ideas derive from one before; our design"),
    # --- technique
    ("flat-bends", Topic.TECHNIQUE, _WORK, "bends short of their note by over", 15.0, "cents", 3, "bends", 0.9,
     "common practice"),
    ("sharp-bends", Topic.TECHNIQUE, _WORK, "bends beyond their note by over", 15.0, "cents", 3, "bends", 0.9,
     "common practice"),
    ("slow-vibrato", Topic.TECHNIQUE, _WORK, "vibrato slower than", 4.0, "Hz", 4, "vibratos", 0.5,
     "common practice: 4 to 8 Hz"),
    ("fast-vibrato", Topic.TECHNIQUE, _WORK, "vibrato faster than", 8.0, "Hz", 4, "vibratos", 0.5,
     "common practice: 4 to 8 Hz"),
    ("wide-vibrato", Topic.TECHNIQUE, _WORK, "vibrato to either side over", 55.0, "cents", 4, "vibratos", 0.5,
     "common practice: it stays within its semitone"),
    ("choked", Topic.TECHNIQUE, _WORK, "dead notes over", 0.1, "of the notes", 24, "notes", 0.6, "our design"),
    ("true-bends", Topic.TECHNIQUE, _GOOD, "bends off their note by under", 10.0, "cents", 3, "bends", 0.55,
     "common practice"),
    # --- tuning
    ("out-of-tune", Topic.TUNING, _WORK, "guitar off its concert pitch by over", 12.0, "cents", 8, "steady notes",
     0.95, "common practice: ears let about 10 cents pass"),
    ("string-off", Topic.TUNING, _WORK, "string off the others by over", 8.0, "cents", 3, "steady notes", 0.95,
     "common practice: ears let about 10 cents pass"),
    ("in-tune", Topic.TUNING, _GOOD, "guitar off its concert pitch by under", 6.0, "cents", 8, "steady notes", 0.25,
     "common practice: ears let about 10 cents pass"),
    # --- the written line
    ("missed", Topic.LINE, _WORK, "written notes missed over", 0.06, "of the notes", 12, "written notes", 0.85,
     "our design"),
    ("wrong-notes", Topic.LINE, _WORK, "written notes at another pitch over", 0.06, "of the notes", 12,
     "written notes", 0.9, "our design"),
    ("wrong-octave", Topic.LINE, _WORK, "written notes in another octave over", 0.06, "of the notes", 12,
     "written notes", 0.5, "our design"),
    ("added", Topic.LINE, _WORK, "notes that are not written over", 0.08, "of the written notes", 12, "written notes",
     0.55, "our design"),
    ("out-of-place", Topic.LINE, _WORK, "written notes early or late over", 0.15, "of the notes", 12, "written notes",
     0.7, "our design; early and late as the comparison has them"),
    ("line-played", Topic.LINE, _GOOD, "written notes played as they stand over", 0.85, "of the notes", 12,
     "written notes", 0.6, "our design"),
)  # fmt: skip

THRESHOLDS: dict[str, Threshold] = {
    row[0]: Threshold(
        kind=row[0],
        topic=row[1],
        tone=row[2],
        measure=row[3],
        limit=row[4],
        unit=row[5],
        least=row[6],
        of=row[7],
        weight=row[8],
        source=row[9],
    )
    for row in _ROWS
}
