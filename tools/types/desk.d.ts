/* What the studio sends to the teacher's desk: the models of web/lesson_models.py and app/desk/view.py. */

declare namespace Desk {
  interface Problem { what: string; hint: string; path: (string | number)[]; at: number | null; line: number | null }
  interface NeckNote { place: string; string: number; fret: number; midi: number; degree: string; name: string; root: boolean; finger: number | null; cycle: number | null; spot: string; added: boolean }
  interface Neck {
    strings: { number: number; name: string; midi: number }[];
    frets: number[];
    capo: number;
    left_handed: boolean;
    fret: number;
    highest_fret: number;
    name: string;
    words: string;
    position: NeckNote[];
    dropped: NeckNote[];
    others: NeckNote[];
  }
  interface Motif {
    letter: string; degrees: string; cycle: number; name: string; places: string[]; shape: string; count: string; card: string; words: string; why: string;
    difficulty: number; fits: { chord: string; words: string; number: string }[]; written: number | null;
  }
  interface Count { text: string; notes: number; words: string; strokes: [number, number][]; length: number }
  interface Reason { first_bar: number; last_bar: number; letter: string; count: string; words: string; second: string }
  interface Study { id: string; title: string; bars: number; facts: string; rules: string[]; reasons: Reason[] }
  interface Exercise { id: string; title: string; facts: string }
  interface Plan {
    facts: [string, string][];
    neck: Neck;
    motifs: Motif[];
    left_out: string[];
    counts: Count[];
    chart: { svg: string; words: string; bars: number; chords: { name: string; printed: string; tones: string[] }[] };
    studies: Study[];
    exercises: Exercise[];
    tempos: number[];
    beat: number;
  }
  interface View {
    id: string; title: string; name: string; revision: number; undo: string; redo: string; saved: boolean; problems: Problem[];
    values: Record<string, Record<string, unknown>>; written: string[]; plan: Plan | null; plan_is_old: boolean;
  }
  interface Checked { problems: Problem[]; plan: Plan | null }
  interface Pack { built: boolean; current: boolean }
  interface Piece { id: string; title: string; beat: number; tempo: number; bars: unknown[] }
  interface Player { pieces: Piece[]; metronome: unknown; mixer: any; transport: any }
}
