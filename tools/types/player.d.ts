// The player of a pack's page as the studio's modules see it: classic scripts that share one name.

interface PlayerBar {
  number: number;
  q: number;
  length: number;
  w: number;
  beats: number[];
  chartBar: number;
}

interface PlayerEvent {
  index: number;
  role: string;
  q: number;
  qEnd: number;
  note: number;
  place: string;
  pitch: number;
}

interface PlayerPiece {
  id: string;
  title: string;
  /** Quarter notes to a beat that is tapped. */
  beat: number;
  tempo: number;
  end: number;
  recording: string;
  parts: string[];
  bars: PlayerBar[];
  events: PlayerEvent[];
}

interface PlayerPlan {
  piece: PlayerPiece;
  bpm: number;
  origin: number;
  from: number;
  to: number;
  /** Played quarter notes of the count-in. */
  count: number;
  length: number;
  /** Where the bars begin, in played quarter notes from the start of the pass. */
  bars: { index: number; u: number }[];
}

interface PlayerPass {
  turn: number;
  startS: number;
  plan: PlayerPlan;
}

interface PlayerMoment {
  place: { counting: number; bar: number; beat: number; q: number };
  plan: PlayerPlan;
  u: number;
  turn: number;
}

interface PlayerTransport {
  passes: PlayerPass[];
  settings: { loop: boolean };
  moment(atS: number): PlayerMoment | null;
}

interface PlayerDesk {
  context?: AudioContext;
  transport: PlayerTransport;
  lesson: PlayerLesson;
  pieces: PlayerPiece[];
  piece: PlayerPiece;
  state: "stopped" | "loading" | "playing";
  values: { piece: string; percent: number; countIn: string; lead: string; keys: boolean; loops: object };
  readonly bpm: number;
  readonly tapped: number;
  readonly heardS: number;
  readonly loop: { on: boolean; from: number; to: number };
  open(): void;
  play(): Promise<void>;
  stop(): void;
  choose(id: string): void;
  seek(bar: number): void;
  keep(changes: object): void;
  setTempo(tapped: number): void;
}

interface PlayerMarks {
  notes: number[];
  places: string[];
  bar: number;
  chartBar: number;
}

interface PlayerLight {
  places: Map<string, Element[]>;
  notes: Map<string, Element[]>;
  follow(container: Element | null): void;
  show(marks: PlayerMarks): void;
  clear(): void;
  refresh(): void;
}

interface PlayerControls {
  say(words: string): void;
  settings(desk: PlayerDesk): void;
  state(desk: PlayerDesk): void;
  moment(desk: PlayerDesk, moment: PlayerMoment | null): void;
}

interface PlayerLesson {
  id: string;
  rate: number;
  /** Concert pitch in hertz. */
  a4: number;
  groups: [string, string[]][];
  pieces: { id: string }[];
}

interface Window {
  Phrasewright: {
    lesson: PlayerLesson;
    keys: { KEYS: Readonly<Record<string, string>>; actionOf(event: KeyboardEvent): string };
    player?: { desk: PlayerDesk; controls: PlayerControls; light: PlayerLight };
  };
}
