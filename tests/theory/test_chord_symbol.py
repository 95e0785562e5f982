"""Chord symbols: every usual spelling, every kind, and what is said about those that cannot be read."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from theory_strategies import chords

from phrasewright.theory.chord import CHORD_KINDS, Chord, ChordKind, tidy_chord
from phrasewright.theory.chord_symbol import ChordSymbolError, is_no_chord, parse_chord, parse_optional_chord
from phrasewright.theory.pitch import NoteName

SPELLINGS = [
    ("C", "C", "1 3 5"),
    ("Cmaj CM CMa Cmajor", "C", "1 3 5"),
    ("Cm C- C− Cmin Cmi CMI CMIN Cminor", "Cm", "1 b3 5"),
    ("CM7 Cmaj7 CMaj7 CMAJ7 Cma7 CMA7 C△7 C△ CΔ C∆7 Cj7", "Cmaj7", "1 3 5 7"),
    ("CM9 Cmaj9 CΔ9 Cj79", "Cmaj9", "1 3 5 7 9"),
    ("Cmaj13 CM13", "Cmaj13", "1 3 5 7 9 11 13"),
    ("C7 Cdom7", "C7", "1 3 5 b7"),
    ("C9 C7/9 C7(9) C7add9 C79", "C9", "1 3 5 b7 9"),
    ("C11 C7911", "C11", "1 3 5 b7 9 11"),
    ("C13", "C13", "1 3 5 b7 9 11 13"),
    ("C6 CM6 Cmaj6", "C6", "1 3 5 6"),
    ("C69 C6/9 C6(9) C6add9 C6(add9)", "C69", "1 3 5 6 9"),
    ("Cm6 C-6 Cmin6", "Cm6", "1 b3 5 6"),
    ("Cm69 Cm6/9 C-69", "Cm69", "1 b3 5 6 9"),
    ("Cm7 C-7 Cmin7 Cmi7 CMI7", "Cm7", "1 b3 5 b7"),
    ("Cm9 C-9 C-79 Cmin9 Cm7(9) Cm7add9", "Cm9", "1 b3 5 b7 9"),
    ("Cm11 C-7911 C-11", "Cm11", "1 b3 5 b7 9 11"),
    ("Cdim C° Cº Co Cmb5 Cm(b5)", "Cdim", "1 b3 b5"),
    ("Cdim7 C°7 Co7", "Cdim7", "1 b3 b5 bb7"),
    ("Cø Cø7 CØ Cm7b5 C-7b5 Cm7(b5) Cm7♭5 Cm7-5 Cmin7b5", "Cm7b5", "1 b3 b5 b7"),
    ("C+ Caug C(#5)", "Caug", "1 3 #5"),
    ("C+7 Caug7 C7#5 C7+5 C7(#5) C7+", "Caug7", "1 3 #5 b7"),
    ("C+9 Caug9", "Caug9", "1 3 #5 b7 9"),
    ("C+j7 Cmaj7#5 CM7#5 C+M7 Caug(maj7)", "Cmaj7(#5)", "1 3 #5 7"),
    ("Csus Csus4 CSUS4", "Csus4", "1 4 5"),
    ("Csus2", "Csus2", "1 2 5"),
    ("Csus24 Csus2sus4 Csus42", "Csus4(add2)", "1 2 4 5"),
    ("C7sus C7sus4 Csus7 C7(sus4)", "C7sus4", "1 4 5 b7"),
    ("C9sus C9sus4 Csus9 Csus79", "C9sus4", "1 4 5 b7 9"),
    ("C13sus C13sus4 Csus13 Csus7913", "C13sus4", "1 4 5 b7 9 13"),
    ("C7susb9 C7sus4(b9) C7b9sus4", "C7sus4(b9)", "1 4 5 b7 b9"),
    ("C7sus2", "C7sus2", "1 2 5 b7"),
    ("Cmaj7sus4", "Cmaj7sus4", "1 4 5 7"),
    ("Cadd9 C(add9) C(9)", "Cadd9", "1 3 5 9"),
    ("Cadd2", "C(add2)", "1 2 3 5"),
    ("Cmadd9 Cm(add9) C-add9", "Cm(add9)", "1 b3 5 9"),
    ("C5 C(no3) Cno3 Comit3", "C5", "1 5"),
    ("C7alt Calt C7ALT", "C7alt", "1 3 b7 b9 #9 #11 b13"),
    ("C7b9 C7(b9) C7-9 C7♭9 C79b", "C7(b9)", "1 3 5 b7 b9"),
    ("C7#9 C7(#9) C7+9 C79#", "C7(#9)", "1 3 5 b7 #9"),
    ("C7(#9,b13) C7#9b13 C7[#9,b13] C79#13b", "C7(#9,b13)", "1 3 5 b7 #9 b13"),
    ("C7b9#11 C79b11# C7(b9)(#11)", "C7(b9,#11)", "1 3 5 b7 b9 #11"),
    ("C9#11 C7911# C7(9,#11)", "C9(#11)", "1 3 5 b7 9 #11"),
    ("C13b9", "C13(b9)", "1 3 5 b7 b9 11 13"),
    ("C79b13", "C7(b9,add13)", "1 3 5 b7 b9 13"),
    ("C7b5 C7-5", "C7(b5)", "1 3 b5 b7"),
    ("C7b9#9", "C7(b9,#9)", "1 3 5 b7 b9 #9"),
    ("Cmaj7#11 CM7(#11) CΔ#11", "Cmaj7(#11)", "1 3 5 7 #11"),
    ("Cj7911#", "Cmaj9(#11)", "1 3 5 7 9 #11"),
    ("Cj79#11#", "Cmaj7(#9,#11)", "1 3 5 7 #9 #11"),
    ("C6911# C69#11", "C69(#11)", "1 3 5 6 9 #11"),
    ("CmMaj7 Cm(maj7) C-maj7 C-j7 CmM7 C-Δ Cm(M7) Cminmaj7", "Cm(maj7)", "1 b3 5 7"),
    ("Cm(maj9) CmMaj9", "Cm(maj9)", "1 b3 5 7 9"),
    ("Cdim(maj7)", "Cdim(add7)", "1 b3 b5 7"),
    ("C7no5 C7omit5 C7(no5)", "C7(no5)", "1 3 b7"),
    ("(C7)", "C7", "1 3 5 b7"),
]


@pytest.mark.parametrize(
    ("text", "symbol", "formula"),
    [(text, symbol, formula) for texts, symbol, formula in SPELLINGS for text in texts.split()],
)
def test_usual_spellings(text: str, symbol: str, formula: str) -> None:
    """Every usual spelling of a chord is read as the same chord (common practice)."""
    chord = parse_chord(text)
    assert chord.symbol == symbol
    assert " ".join(str(degree) for degree in chord.degrees) == formula


@pytest.mark.parametrize("suffix", ["", "m7b5", "7(#9,b13)", "maj7", "6/9", "°7", "7alt"])
@pytest.mark.parametrize("root", ["C", "F#", "Bb", "E♭", "C♯", "B", "Cb"])
def test_roots_and_slash_bass(root: str, suffix: str) -> None:
    """Any root and any bass stand before and behind the same words."""
    plain = parse_chord(root + suffix)
    slashed = parse_chord(f" {root}{suffix}/Ab ")
    assert plain.root == slashed.root == NoteName.parse(root)
    assert plain.bass is None
    assert slashed.bass == NoteName("A", -1)
    assert slashed.degrees == plain.degrees


def test_bass_equal_to_the_root_is_no_slash() -> None:
    """C/C is C."""
    assert parse_chord("C/C") == parse_chord("C")


@pytest.mark.parametrize("kind", CHORD_KINDS.values(), ids=lambda kind: kind.id)
def test_every_kind_is_read_back(kind: ChordKind) -> None:
    """Each kind's own symbol is read back as that kind."""
    chord = Chord(root=NoteName("E", -1), kind=kind)
    assert parse_chord(chord.symbol) == chord


@given(chords())
def test_symbol_survives_print_and_read(chord: Chord) -> None:
    """What is printed, in ASCII or with real signs, is read as the same chord."""
    assert parse_chord(chord.symbol) == chord
    assert parse_chord(chord.printed) == chord


@given(chords())
def test_tidying_keeps_the_tones(chord: Chord) -> None:
    """The plain way of saying a chord has the same tones, and saying it again changes nothing."""
    again = tidy_chord(chord.root, chord.kind, chord.degrees, chord.bass)
    assert again == chord


@pytest.mark.parametrize("text", ["N.C.", "NC", "N", " (N.C.) ", "n.c."])
def test_no_chord(text: str) -> None:
    """N.C. is a chart's word for silence, not a chord."""
    assert is_no_chord(text)
    assert parse_optional_chord(text) is None
    with pytest.raises(ChordSymbolError, match="no chord"):
        parse_chord(text)


@pytest.mark.parametrize(
    ("text", "column", "message", "hint"),
    [
        ("Cmj7", 1, "cannot read 'mj7' in the chord 'Cmj7'", "did you mean Cmaj7?"),
        ("Am77", 3, "cannot read '7' in the chord 'Am77'", "did you mean Am7?"),
        ("c7", 0, "'c7' does not begin with a note name", "did you mean C7?"),
        ("H7", 0, "'H7' does not begin with a note name", "write B for"),
        ("C2", 1, "cannot read '2' in the chord 'C2'", "did you mean Csus2 or Cadd9?"),
        ("C4", 1, "cannot read '4' in the chord 'C4'", "did you mean Csus4 or Cadd11?"),
        ("  Gxyz", 4, "cannot read 'yz'", "write it like"),
        ("C7(b9", 2, "a bracket is left open in 'C7(b9'", "close it"),
        ("Cmno7", 2, "there is no 7 to leave out", "drop 'no7'"),
        ("", 0, "a chord symbol is missing", "N.C."),
        ("C/H", 1, "cannot read '/H'", ""),
        ("B###", 3, "cannot read", ""),
        ("Fbbdim7", 0, "more than three accidentals", "fewer sharps or flats"),
    ],
)
def test_errors_say_where_and_how_to_mend(text: str, column: int, message: str, hint: str) -> None:
    """A symbol that cannot be read names the column, the part and the way out."""
    with pytest.raises(ChordSymbolError) as caught:
        parse_chord(text)
    assert message in str(caught.value)
    assert caught.value.column == column
    assert hint in caught.value.hint


@given(st.text(alphabet="ABCDEFGabdgijmnosu#b♭♯0123456789+-()/, øΔ°", max_size=14))
def test_any_text_is_read_or_refused(text: str) -> None:
    """No text breaks the reader: it gives a chord whose symbol reads back, or a ChordSymbolError inside the text."""
    column = 0
    try:
        chord = parse_chord(text)
        assert parse_chord(chord.symbol) == chord
    except ChordSymbolError as error:
        column = error.column
    assert 0 <= column <= len(text)
