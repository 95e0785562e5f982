"""What is worth saying about a take, and what of it comes first.

Each family of findings is a module of its own; what may be said, and from where on, stands in ``thresholds``. A take
of a written line is not asked for ideas, pitches and rhythms of the player's own, since the line settles them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence

from phrasewright.listen.finding import Finding, Tone, Topic
from phrasewright.listen.findings.landing import landing
from phrasewright.listen.findings.motifs import development, motifs
from phrasewright.listen.findings.pitch_choice import pitch_choice
from phrasewright.listen.findings.playing import Playing, playing_of
from phrasewright.listen.findings.rhythm import rhythm
from phrasewright.listen.findings.space import space
from phrasewright.listen.findings.take import Take
from phrasewright.listen.findings.technique import technique
from phrasewright.listen.findings.timing import timing
from phrasewright.listen.findings.tuning import tuning
from phrasewright.listen.findings.written_line import written_line

Family = Callable[[Playing], Iterator[Finding]]

OF_ANY_TAKE: tuple[Family, ...] = (timing, technique, tuning)
OF_IDEAS: tuple[Family, ...] = (space, motifs, landing, rhythm, pitch_choice, development)
OF_A_LINE: tuple[Family, ...] = (written_line,)
TOLD_BY = {"nothing-returns": "off-shelf"}  # one cause: ideas that are not the shelf's; the second tells it


def findings(take: Take) -> tuple[Finding, ...]:
    """All that is worth saying about a take: what asks for work, then the rest, each by weight."""
    if not take.hearing.is_line:
        return ()
    playing = playing_of(take)
    if not playing.placed and take.comparison is None:
        return ()
    families = (*OF_ANY_TAKE, *(OF_IDEAS if take.comparison is None else OF_A_LINE))
    found = [finding for family in families for finding in family(playing)]
    kinds = {finding.kind for finding in found}
    found = [finding for finding in found if TOLD_BY.get(finding.kind) not in kinds]
    return tuple(sorted(found, key=lambda finding: (finding.tone is not Tone.WORK, -finding.weight, finding.kind)))


def first_things(found: Sequence[Finding], most: int = 3) -> tuple[Finding, ...]:
    """The few things to tell first: one that is good, where there is one, then what asks for work, topic by topic.

    found: as ``findings`` orders them; where little asks for work, what is only told and more praise fill the row.
    """
    good = [finding for finding in found if finding.tone is Tone.GOOD]
    work = [finding for finding in found if finding.tone is Tone.WORK]
    told = [finding for finding in found if finding.tone is Tone.NOTE]
    return tuple([*good[:1], *_topic_by_topic(work), *told, *good[1:]][:most])


def _topic_by_topic(work: Sequence[Finding]) -> list[Finding]:
    """The first of every topic before the second of any."""
    seen: Counter[Topic] = Counter()
    turns = []
    for finding in work:
        turns.append(seen[finding.topic])
        seen[finding.topic] += 1
    return [finding for _, finding in sorted(zip(turns, work, strict=True), key=lambda pair: pair[0])]
