"""The page as files: what it holds, and that nobody's words become markup."""

from __future__ import annotations

import base64
import json
import re
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.engrave.page.content import (
    DownloadView,
    ExerciseView,
    FigureView,
    FitView,
    MotifView,
    NeckView,
    PageContent,
    PositionView,
    ReasonView,
    SystemsView,
    SystemView,
)
from phrasewright.engrave.page.figures import inline_svg
from phrasewright.engrave.page.glyphs import share_glyphs
from phrasewright.engrave.page.piece_view import PieceBar, PieceEvent, PieceView
from phrasewright.engrave.page.render import SCRIPTS, render_page
from phrasewright.engrave.page.sound_bank import Clip, ClipUse, SoundBank, Sprite
from phrasewright.engrave.palette import DARK, LIGHT, Ink, contrast_ratio
from phrasewright.neck.instrument import StringFret
from phrasewright.score.model import PartRole
from phrasewright.score.performance import SwingCurve

SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 50"><g data-place="5-2"/></svg>'
FIGURE = FigureView(svg=SVG, alt="A figure.", words=("In words.",))
AUDIO = b"fLaC sound"


def sprite() -> Sprite:
    return Sprite(audio=AUDIO, sample_rate_hz=44_100, clips={"tick": Clip(start_frames=0, length_frames=9)})


BANK = SoundBank(
    sprites={PartRole.LEAD: sprite(), PartRole.DRUMS: sprite()},
    click=ClipUse(key="tick"),
    accent=ClipUse(key="tick", gain=1.5),
    impulse=b"fLaC room",
)


def piece(name: str = "ex-1", title: str = "First", key: str = "tick") -> PieceView:
    zero = Fraction(0)
    bar = PieceBar(number=1, onset=zero, length=Fraction(4), weight=zero, beats=(zero, Fraction(2)))
    event = PieceEvent(
        role=PartRole.LEAD,
        onset=zero,
        end=Fraction(1),
        onset_weight=zero,
        end_weight=zero,
        clip=ClipUse(key=key),
        velocity=0.8,
        note=0,
        place=StringFret(5, 2),
        pitch_midi=47,
    )
    return PieceView(
        id=name, title=title, bars=(bar,), events=(event,), swing=SwingCurve(), tempo_bpm=90.0, tempos_bpm=(90.0,)
    )


def exercise(name: str = "ex-1", text: str = "Play.") -> ExerciseView:
    system = SystemView(svg=SVG, first_bar=1, last_bar=1)
    return ExerciseView(
        piece=piece(name, text),
        instruction=text,
        facts=text,
        systems=SystemsView(
            wide=(system,), narrow=(system,), wide_prefix=f"{name}-", narrow_prefix=f"{name}s-", alt=text, words=(text,)
        ),
        reasons=(ReasonView(first_bar=1, last_bar=1, label="A", words=text),),
    )


def content(text: str = "Words") -> PageContent:
    return PageContent(
        lesson_id="lesson",
        title=text,
        school=text,
        teacher=text,
        words=(text,),
        facts=((text, text),),
        position=PositionView(
            name=text,
            words=(text,),
            labels=(NeckView(label=text, figure=FIGURE),),
            tones=(NeckView(label="Em", figure=FIGURE, chord="Em"),),
        ),
        motifs=(MotifView(letter="A", degrees=text, shape=text, card=FIGURE, reasons=(text,), piece=piece("motif-a")),),
        exercises=(exercise(text=text),),
        studies=(exercise("study-1", text),),
        chart=FIGURE,
        track=None,
        downloads=(DownloadView(href="handout.pdf", label=text, detail=text, group=text),),
        bank=BANK,
        cautions=(text,),
        stamp=text,
    )


def html(page: PageContent) -> str:
    return render_page(page)["index.html"].decode()


def test_the_same_content_gives_the_same_bytes() -> None:
    """Rendering is deterministic."""
    assert render_page(content()) == render_page(content())


def test_every_file_the_page_names_is_there() -> None:
    """Scripts, style and sound are all among the rendered files, and nothing lies elsewhere."""
    files = render_page(content())
    named = re.findall(r'(?:src|href)="(assets/[^"]+)"', files["index.html"].decode())
    assert set(named) <= set(files)
    assert {f"assets/{name}.js" for name in SCRIPTS} <= set(named)
    assert {"assets/sound-lead.js", "assets/sound-drums.js", "assets/sound-room.js"} <= set(files)
    assert not re.search(r'(?:src|href)="(?:https?:)?//', files["index.html"].decode())


def test_scripts_need_no_modules_and_no_fetch() -> None:
    """Nothing is used that a page opened from disk may not do."""
    for path, data in render_page(content()).items():
        if path.endswith(".js") and "sound-" not in path:
            assert not re.search(r"\bfetch\(|XMLHttpRequest|\bimport[ (]|\bexport ", data.decode()), path


@given(
    text=st.text(alphabet=st.sampled_from("<>&\"'/ascript=`{}%\\\n "), max_size=30).map(lambda text: f"<b>{text}</b>")
)
def test_words_are_never_markup(text: str) -> None:
    """Whatever a teacher writes is shown as written."""
    files = render_page(content(text))
    page = files["index.html"].decode()
    assert "<b>" not in page
    tags = re.sub(r'"[^"]*"', "", re.sub(r"<svg.*?</svg>", "", page))
    assert tags.count("<script") == len(SCRIPTS) + 1
    data = files["assets/lesson.js"].decode()
    assert "</" not in data
    assert json.loads(data.partition("lesson = ")[2].rstrip(";\n"))["pieces"][1]["title"] == text


def test_sound_travels_in_scripts() -> None:
    """A part's sound is a call that hands over base64, with its clips in frames."""
    script = render_page(content())["assets/sound-lead.js"].decode()
    match = re.fullmatch(r'Phrasewright\.sound\.register\("lead",(\{.*\})\);\n', script)
    assert match
    file = json.loads(match[1])
    assert base64.b64decode(file["data"]) == AUDIO
    assert file["clips"] == {"tick": [0, 9]}
    assert (file["rate"], file["release"]) == (44_100, 0.06)


@pytest.mark.parametrize(
    "svg",
    [
        "<svg><script>1</script></svg>",
        '<svg onload="1"/>',
        '<svg xmlns:x="http://www.w3.org/1999/xlink"><a x:href="http://example.org"/></svg>',
        "<svg><foreignObject/></svg>",
        '<svg><rect style="fill:url(http://example.org/a)"/></svg>',
        "<svg><style>@import 'a.css'</style></svg>",
        "<div/>",
        "<svg>",
        "plain",
    ],
)
def test_unsafe_figures_are_refused(svg: str) -> None:
    """A figure that could run or fetch something does not enter the page."""
    with pytest.raises(ValueError, match="figure"):
        inline_svg(svg)


def test_a_figure_fills_its_column() -> None:
    """Prolog and fixed size go, everything else of the figure stays."""
    svg = (
        '<?xml version="1.0"?>\n<!-- made -->\n<svg width="10mm" height="5mm" viewBox="0 0 1 1"><path width="3"/></svg>'
    )
    assert inline_svg(svg) == '<svg viewBox="0 0 1 1"><path width="3"/></svg>'


def test_a_short_last_system_keeps_its_scale() -> None:
    """A system half as wide as the others takes half the sheet, or the share it states."""
    short = SystemView(svg=SVG.replace("100 50", "50 50"), first_bar=2, last_bar=2)
    one = exercise()
    wide = replace(one.systems, wide=(*one.systems.wide, short, replace(short, width_share=0.25)))
    page = html(replace(content(), exercises=(replace(one, systems=wide),)))
    assert re.findall(r"--share: ([\d.]+)", page)[:3] == ["1.0", "0.5", "0.25"]


def test_reasons_stand_beside_their_system() -> None:
    """A pencilled note is printed with the system in which its bars begin."""
    page = html(content())
    assert page.count('data-from-bar="1"') == 4  # two pieces, wide and narrow each


def test_what_came_second_is_folded_under_the_study() -> None:
    """The runner-up of each phrase stands in one fold, and nothing stands there when none is known."""
    first = content().studies[0]
    assert "What came second" not in html(content())
    known = replace(first, reasons=(replace(first.reasons[0], second="B came second: it is <late>."),))
    page = html(replace(content(), studies=(known,)))
    assert page.count("<summary>What came second in") == 1
    assert "Bar 1, A. B came second: it is &lt;late&gt;." in page


def test_downloads_of_one_name_share_a_line() -> None:
    """The same piece in two formats is one line with two links."""
    files = [DownloadView(href=f"study.{kind}", label="Study", detail=kind, group="Files") for kind in ("mid", "xml")]
    page = html(replace(content(), downloads=tuple(files)))
    assert len(re.findall(r"<li><span class=\"of\">Study</span>", page)) == 1
    assert 'href="study.mid"' in page
    assert 'href="study.xml"' in page


@pytest.mark.parametrize("href", ["http://example.org/a", "/etc/a", "../a", "a/../../b", "javascript:1", "\\\\a"])
def test_downloads_stay_in_the_pack(href: str) -> None:
    """A link out of the pack is refused."""
    with pytest.raises(ValueError, match="inside the pack"):
        DownloadView(href=href, label="", detail="", group="")


def test_missing_clips_are_noticed() -> None:
    """A piece that asks for a sound the bank lacks is refused when the page is put together."""
    with pytest.raises(ValueError, match="no clip 'gong'"):
        replace(content(), exercises=(replace(exercise(), piece=piece(key="gong")),))


def test_piece_ids_differ() -> None:
    """Two pieces of one name are refused."""
    with pytest.raises(ValueError, match="ids must differ"):
        replace(content(), exercises=(exercise(), exercise()))


def test_a_bank_needs_its_click() -> None:
    """The metronome must be there."""
    with pytest.raises(ValueError, match="click"):
        SoundBank(sprites={PartRole.LEAD: sprite()}, click=ClipUse(key="tick"), accent=ClipUse(key="tick"))


def test_a_page_without_pieces_has_no_player() -> None:
    """A lesson that only shows things is still a page."""
    bare = replace(content(), motifs=(), exercises=(), studies=())
    assert 'class="desk"' not in html(bare)


def test_the_first_exercise_stands_ready() -> None:
    """The player opens on the first piece that is more than a motif."""
    assert content().first_piece == content().exercises[0].piece
    assert replace(content(), exercises=(), studies=()).first_piece == content().motifs[0].piece


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.id)
@pytest.mark.parametrize("ink", [Ink.INK, Ink.HELP, Ink.NOW, Ink.TARGET])
def test_inks_can_be_read_on_paper(theme, ink: Ink) -> None:  # type: ignore[no-untyped-def]
    """Every ink that carries words has at least 4.5 to 1 on paper (WCAG 2.2, 1.4.3)."""
    assert contrast_ratio(theme.colours[ink], theme.colours[Ink.PAPER]) >= 4.5


def test_both_themes_reach_the_page() -> None:
    """The style sheet carries the palette, dark only on screens."""
    style = render_page(content())["assets/page.css"].decode()
    assert LIGHT.colours[Ink.NOW] in style
    assert re.search(
        r"@media screen and \(prefers-color-scheme: dark\) \{ :root \{[^}]*" + DARK.colours[Ink.NOW], style
    )


def test_a_figure_leaves_its_own_words_behind() -> None:
    """Title, description and role stand in the file; on the page the box around the figure speaks, and only once."""
    spoken = '<title id="a">T</title><desc id="b">D &amp; D</desc>'
    svg = f'<svg viewBox="0 0 1 1" role="img" aria-label="D" aria-labelledby="a b">{spoken}<g/></svg>'
    assert inline_svg(svg) == '<svg viewBox="0 0 1 1"><g/></svg>'


def test_outlines_are_kept_once() -> None:
    """Equal glyphs of several figures, and equal letters, become one outline; every reference meets it."""
    letter = f'<path d="M{"1 2 " * 30}Z" transform="translate(1 0)"/>'
    figures = "".join(
        f'<svg><defs><g id="{name}"><path d="M0 0"/></g><path id="{name}r" d="M1 1"/></defs>'
        f'<use href="#{name}"/><use href="#{name}r" x="2"/>{letter}</svg>'
        for name in ("a", "b")
    )
    page = share_glyphs(f'<body><a href="#player">x</a>{figures}</body>')
    names = re.findall(r'id="(glyph-\d+)"', page)
    assert len(names) == len(set(names)) == 3
    used = re.findall(r'<use href="#([^"]+)"', page)
    assert len(used) == 6
    assert set(used) == set(names)
    assert used[:3] == used[3:]
    assert 'href="#player"' in page
    assert page.count(f"M{'1 2 ' * 30}Z") == 1


def test_a_page_without_outlines_stays_as_it_is() -> None:
    """Nothing is added where nothing can be shared."""
    assert share_glyphs("<body><p>x</p></body>") == "<body><p>x</p></body>"


def test_the_number_behind_a_fit_and_the_teachers_name_are_shown() -> None:
    """Words first, the number after them, what it means once; a motif carries the name it was given."""
    fit = FitView(chord="Em7", words="at home, the root", number="+0.4 bits")
    motif = replace(content().motifs[0], fits=(fit,), name="the lighthouse")
    page = html(replace(content(), motifs=(motif,), fits_words="What bits are."))
    assert page.index("at home, the root") < page.index("+0.4 bits")
    assert page.count("What bits are.") == 1
    assert "the lighthouse" in page
