"""A backing track by itself: a chart and a groove to audio and MIDI, without a lesson, for a quick jam."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from phrasewright.app.audio import write_audio
from phrasewright.app.pack import move_files, staging
from phrasewright.app.pieces import band_score
from phrasewright.app.sounds import audio_wish
from phrasewright.app.text_files import small_text
from phrasewright.band.form import Ending
from phrasewright.band.groove import Groove, groove_named, grooves_for
from phrasewright.band.groove_file import read_groove
from phrasewright.errors import OutputError, PhrasewrightError
from phrasewright.lesson.band_part import LONGEST_TRACK_MIN, most_choruses, unswung_meter
from phrasewright.lesson.chart_text import ChartError, read_chart
from phrasewright.lesson.forms import FORMS
from phrasewright.lesson.model import FILE_KINDS, BandSound, SoundSpec, tapped_beat
from phrasewright.lesson.schema import HIGHEST_A4_HZ, LOWEST_A4_HZ, METERS, USUAL_SOUND
from phrasewright.lesson.toml_text import GROOVE_FILE
from phrasewright.score.chart import Chart
from phrasewright.score.performance import FASTEST_BPM, SLOWEST_BPM, Performance
from phrasewright.sound.events import SAMPLE_RATE
from phrasewright.sound.midifile import midi_bytes
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName

LARGEST_FILE_BYTES = 100_000
CHART_FILES = (".txt", ".chart", ".md", ".text")  # what a chart file is usually called


class TrackError(PhrasewrightError):
    """A track that cannot be made as wished."""

    exit_code = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackWish:
    """chart: a ready form, a file with a chart, or the chart itself; key: for a form; groove: a ready one or a
    file, empty = a plain one.

    tempos_bpm: tapped beats a minute.
    """

    chart: str
    key: str = "C"
    meter: str = "4/4"
    groove: str = ""
    tempos_bpm: tuple[float, ...] = (90.0,)
    choruses: int = 3
    seed: int = 1
    sound: SoundSpec = USUAL_SOUND


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackFiles:
    """What was made. folders: one for each tempo, with band, stems; midi: at the first tempo."""

    groove: Groove
    bars: int
    folders: tuple[Path, ...]
    midi: Path


def make_track(wish: TrackWish, out: Path, *, done: Callable[[Path], None] = lambda _: None) -> TrackFiles:
    """Render the band at every tempo. done: called with each folder.

    Raises TrackError, GrooveError, SoundError or OutputError.
    """
    _check_sound(wish.sound)
    chart, groove = chart_of(wish), groove_of(wish)
    beat = tapped_beat(chart.meter)
    _check_tempos(wish, chart, beat)
    odd = unswung_meter(groove, chart)
    if odd is not None:
        hint = "Take a groove without swing, or bars of whole quarter notes."
        raise TrackError(f"The groove {groove.id} swings quarter notes, and a bar of {odd} has half a one.", hint=hint)
    measures = chart.whole(wish.choruses)
    score = band_score("Track", measures, groove, seed=wish.seed, ending=Ending.FINAL)
    audio = audio_wish(wish.sound, sample_rate=SAMPLE_RATE)
    folders = tuple(f"{tempo_bpm:g}-bpm" for tempo_bpm in wish.tempos_bpm)
    with staging(out) as scratch:
        scratch.mkdir(parents=True)
        for tempo_bpm, folder in zip(wish.tempos_bpm, folders, strict=True):
            performance = Performance(tempo_bpm=tempo_bpm * float(beat), swing=groove.swing)
            write_audio(score, performance, scratch / folder, seed=wish.seed, wish=audio)
            done(out / folder)
        midi = midi_bytes(score, wish.tempos_bpm[0] * float(beat), a4_hz=wish.sound.a4_hz)
        (scratch / "track.mid").write_bytes(midi)
        move_files(scratch, out)
    return TrackFiles(
        groove=groove, bars=len(measures), folders=tuple(out / name for name in folders), midi=out / "track.mid"
    )


def chart_of(wish: TrackWish) -> Chart:
    """The chart wished. Raises TrackError with the place of each mistake, OutputError for an unreadable file."""
    meter = meter_named(wish.meter)
    if wish.chart in FORMS:
        try:
            return FORMS[wish.chart].chart(NoteName.parse(wish.key), meter)
        except ValueError:
            raise TrackError(
                f"{wish.key!r} is not a key that can be spelled.", hint="Write A to G with b or #."
            ) from None
    text = _text(wish.chart)
    try:
        return read_chart(text, meter)
    except ChartError as error:
        lines = "\n".join(_pointed(text, error))
        hint = f"A chart looks like '| Em7 | A7 |'; ready ones are {', '.join(FORMS)}."
        raise TrackError(f"The chart cannot be read:\n{lines}\n", hint=hint) from None


def meter_named(name: str) -> Meter:
    """A meter there is. Raises TrackError."""
    if name not in METERS:
        raise TrackError(f"There is no meter {name!r} here.", hint=f"Take one of {', '.join(METERS)}.")
    return Meter.parse(name)


def groove_of(wish: TrackWish) -> Groove:
    """The groove wished, or the plainest that fits the meter. Raises GrooveError."""
    meter = Meter.parse(wish.meter)
    groove = _groove(wish.groove) if wish.groove else grooves_for(meter)[0]
    groove.plan(meter)
    return groove


def _groove(name: str) -> Groove:
    """A ready groove, or the one that a groove file states."""
    if not name.endswith(GROOVE_FILE):
        return groove_named(name)
    return read_groove(small_text(Path(name), "groove", LARGEST_FILE_BYTES, TrackError), name)


def _text(chart: str) -> str:
    """The chart itself, or what stands in the file of that name."""
    if "|" in chart or "\n" in chart:
        return chart
    path = Path(chart)
    if not path.is_file():
        if path.suffix.lower() in CHART_FILES:
            raise OutputError(f"There is no file {chart}. Check the name.")
        return chart
    return small_text(path, "chart", LARGEST_FILE_BYTES, TrackError)


def _pointed(text: str, error: ChartError) -> Iterator[str]:
    """Each problem under its line, with a caret at its place."""
    for problem in error.problems:
        start = text.rfind("\n", 0, problem.offset) + 1
        line = text[start:].split("\n", 1)[0]
        yield f"  {line}"
        yield f"  {' ' * (problem.offset - start)}^ {problem.what}" + (f"; {problem.hint}" if problem.hint else "")


def sound_spec(source: str, soundfont: str, a4_hz: float, files: Sequence[str], stems: Sequence[str]) -> SoundSpec:
    """The sound wished, from the words of a command; a SoundFont stands for sampled sound, no files for the usual ones.

    Raises TrackError for a word that is none.
    """
    wanted = source or (BandSound.SAMPLED if soundfont else BandSound.MODELS)
    if wanted not in tuple(BandSound):
        raise TrackError(f"There is no sound {wanted!r}.", hint=f"Take one of {', '.join(BandSound)}.")
    for kind in (*files, *stems):
        if kind not in FILE_KINDS:
            raise TrackError(f"There is no kind of file {kind!r}.", hint=f"Take some of {', '.join(FILE_KINDS)}.")
    return SoundSpec(
        source=BandSound(wanted),
        soundfont=soundfont,
        a4_hz=a4_hz,
        files=tuple(dict.fromkeys(files)) or USUAL_SOUND.files,
        stems=tuple(dict.fromkeys(stems)) or USUAL_SOUND.stems,
    )


def _check_sound(sound: SoundSpec) -> None:
    if not LOWEST_A4_HZ <= sound.a4_hz <= HIGHEST_A4_HZ:
        hint = f"Take {LOWEST_A4_HZ} to {HIGHEST_A4_HZ} hertz."
        raise TrackError(f"{sound.a4_hz:g} is no concert pitch for the band.", hint=hint)
    if sound.soundfont and sound.source is BandSound.MODELS:
        raise TrackError("A SoundFont is for sampled sound.", hint="Write --sound sampled, or leave --soundfont out.")


def _check_tempos(wish: TrackWish, chart: Chart, beat: Fraction) -> None:
    for tempo_bpm in wish.tempos_bpm:
        if not SLOWEST_BPM <= tempo_bpm * float(beat) <= FASTEST_BPM:
            raise TrackError(f"{tempo_bpm:g} is no tempo for the band.", hint="Take 30 to 260 beats a minute.")
        most = most_choruses(chart, tempo_bpm)
        if wish.choruses > most:
            hint = f"Take {most} choruses or a faster tempo." if most else "Take a shorter chart or a faster tempo."
            raise TrackError(f"The track is longer than {LONGEST_TRACK_MIN} minutes at {tempo_bpm:g}.", hint=hint)


def tempo_list(words: Sequence[float]) -> tuple[float, ...]:
    """Tempos in the order given, each once."""
    return tuple(dict.fromkeys(words))
