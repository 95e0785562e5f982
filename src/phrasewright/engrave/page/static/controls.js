/* controls.js: the bar of controls: shows what the desk holds, and hands it what the student sets. */
(function () {
  "use strict";
  const app = (window.Phrasewright = window.Phrasewright || {});
  const { State } = app.desk;
  const { Lead, CountIn } = app.transport;

  const TEMPO_STEP_BPM = 2;
  const COUNT_INS = [CountIn.OFF, CountIn.START, CountIn.EACH];
  const LEADS = [Lead.HEAR, Lead.YOURS, Lead.TURNS];

  function setText(element, words) {
    if (element && element.textContent !== words) element.textContent = words;
  }

  /** "Your turn" or "Listen", for a pass of the lead. Pure. */
  function turnWords(lead, turn) {
    if (lead === Lead.YOURS) return "Your turn";
    return lead === Lead.HEAR || turn % 2 === 0 ? "Listen" : "Your turn";
  }

  class Controls {
    constructor(root, light) {
      this.root = root;
      this.light = light;
      this.at = (name) => root.querySelector(`[data-show="${name}"]`);
      this.field = (name) => root.querySelector(`[data-set="${name}"]`);
      this.live = document.getElementById("say");
    }

    /** Take the desk in hand. */
    join(desk) {
      this.desk = desk;
      this.ruler = new app.ruler.Ruler(this.root.querySelector(".ruler"), {
        seek: (bar) => desk.seek(bar),
        loop: (from, to) => desk.setLoop(from, to, true),
      });
      this.neck = new app.necks.DeskNeck(this.root.querySelector(".desk-neck"), document.querySelector("[data-necks]"));
      this.light.refresh();
      this.fillPieces();
      this.wireButtons();
      this.wireFields();
      this.wireParts();
      this.piece = null;
      this.settings(desk);
      this.state(desk);
      this.moment(desk, null);
    }

    // ---- what the student does

    get actions() {
      const { desk } = this;
      return {
        play: () => desk.toggle(),
        back: () => desk.step(-1),
        forward: () => desk.step(1),
        start: () => desk.seek(0),
        slower: () => this.stepTempo(-TEMPO_STEP_BPM),
        faster: () => this.stepTempo(TEMPO_STEP_BPM),
        forget: () => desk.forget(),
        loop: () => this.toggleLoop(),
        from: () => this.loopEdge(0),
        to: () => this.loopEdge(1),
        count: () => this.cycle("countIn", COUNT_INS),
        click: () => desk.keep({ click: !desk.values.click }),
        lead: () => desk.hasLead && this.cycle("lead", LEADS),
        neck: () => desk.keep({ neck: !desk.values.neck }),
        previous: () => this.next(-1),
        next: () => this.next(1),
      };
    }

    stepTempo(beats) {
      this.desk.stepTempo(beats);
      this.say(`${Math.round(this.desk.tapped)} beats a minute.`);
    }

    toggleLoop() {
      const { from, to, on } = this.desk.loop;
      this.desk.setLoop(from, to, !on);
      this.say(on ? "Loop off." : `Loop on, bars ${this.desk.piece.bars[from].number} to ${this.desk.piece.bars[to].number}.`);
    }

    /** Begin or end the loop at the bar that plays, or at the mark. */
    loopEdge(side) {
      const { desk } = this;
      const { from, to } = desk.loop;
      const here = desk.state === State.PLAYING && this.last ? this.last.place.bar : desk.cue;
      if (side === 0) desk.setLoop(here, Math.max(here, to), true);
      else desk.setLoop(Math.min(from, here), here, true);
    }

    cycle(name, values) {
      const next = values[(values.indexOf(this.desk.values[name]) + 1) % values.length];
      this.desk.keep({ [name]: next });
      const option = this.field(name).selectedOptions[0];
      this.say(`${this.field(name).dataset.spoken}: ${option.textContent}.`);
    }

    next(step) {
      const { desk } = this;
      const index = desk.pieces.indexOf(desk.piece) + step;
      if (!desk.pieces[index]) return;
      desk.choose(desk.pieces[index].id);
      this.say(desk.piece.title);
      this.bringIntoView(this.container);
    }

    fillPieces() {
      const select = this.field("piece");
      for (const [name, ids] of this.desk.lesson.groups) {
        const group = document.createElement("optgroup");
        group.label = name;
        group.append(...ids.map((id) => new Option(this.desk.pieceOf(id).title, id)));
        select.append(group);
      }
    }

    wireButtons() {
      const { desk } = this;
      document.addEventListener("click", (event) => {
        const button = event.target.closest("[data-do], [data-play]");
        if (!button) return;
        if (button.dataset.do) this.actions[button.dataset.do]();
        else this.playPiece(button.dataset.play);
      });
      this.root.querySelector("[data-more]").addEventListener("click", (event) => {
        const open = this.root.classList.toggle("is-open");
        event.currentTarget.setAttribute("aria-expanded", String(open));
      });
      this.root.addEventListener("mousedown", (event) => {
        if (event.target.closest("button")) event.preventDefault(); // a mouse leaves the focus where it was
      });
      this.root.querySelector("[data-show=tempos]").addEventListener("click", (event) => {
        const button = event.target.closest("[data-bpm]");
        if (button) desk.setTempo(Number(button.dataset.bpm));
      });
    }

    playPiece(id) {
      const { desk } = this;
      const same = desk.piece.id === id;
      if (same) {
        desk.toggle();
      } else {
        desk.choose(id);
        desk.play();
      }
    }

    wireFields() {
      const { desk } = this;
      const on = (name, act) => this.field(name).addEventListener("change", (event) => act(event.target));
      on("piece", (field) => desk.choose(field.value));
      on("bpm", (field) => desk.setTempo(Number(field.value) || desk.tapped));
      on("percent", (field) => desk.setPercent(Number(field.value)));
      on("countIn", (field) => desk.keep({ countIn: field.value }));
      on("lead", (field) => desk.keep({ lead: field.value }));
      for (const name of ["click", "follow", "keys", "neck"]) on(name, (field) => desk.keep({ [name]: field.checked }));
      on("loop", (field) => desk.setLoop(desk.loop.from, desk.loop.to, field.checked));
      on("from", () => this.readLoop(0));
      on("to", () => this.readLoop(1));
    }

    readLoop(side) {
      const { desk } = this;
      const first = desk.piece.bars[0].number;
      const read = (name, fallback) => {
        const { value } = this.field(name); // 0 is a bar too: the pick-up
        return value === "" || Number.isNaN(Number(value)) ? fallback : Math.round(Number(value)) - first;
      };
      const from = read("from", desk.loop.from);
      const to = read("to", desk.loop.to);
      if (side === 0) desk.setLoop(from, Math.max(from, to), true);
      else desk.setLoop(Math.min(from, to), to, true);
      this.settings(desk);
    }

    wireParts() {
      for (const row of this.root.querySelectorAll("[data-part]")) {
        const volume = row.querySelector("input[type=range]");
        const mute = row.querySelector("input[type=checkbox]");
        const hand = () => this.desk.setVolume(row.dataset.part, Number(volume.value), mute.checked);
        volume.addEventListener("input", hand);
        mute.addEventListener("change", hand);
      }
    }

    // ---- what the desk tells

    settings(desk) {
      if (this.piece !== desk.piece) this.take(desk.piece);
      const { on, from, to } = desk.loop;
      const first = desk.piece.bars[0].number;
      this.field("piece").value = desk.piece.id;
      this.field("bpm").value = String(Math.round(desk.tapped));
      this.field("percent").value = String(Math.round((100 * desk.bpm) / desk.piece.tempo));
      this.field("loop").checked = on;
      this.field("from").value = String(from + first);
      this.field("to").value = String(to + first);
      this.field("countIn").value = desk.values.countIn;
      this.field("lead").value = desk.values.lead;
      this.field("lead").disabled = !desk.hasLead;
      for (const name of ["click", "follow", "keys", "neck"]) this.field(name).checked = desk.values[name];
      this.root.classList.toggle("has-neck", desk.values.neck && this.neck.exists);
      this.neck.crop(this.neck.shown);
      this.root.classList.toggle("no-keys", !desk.values.keys);
      this.ruler.mark(from, to, on || desk.settings.loop);
      this.showParts(desk);
      for (const button of this.at("tempos").children) {
        button.setAttribute("aria-pressed", String(Math.abs(Number(button.dataset.bpm) - desk.tapped) < 0.5));
      }
    }

    showParts(desk) {
      for (const row of this.root.querySelectorAll("[data-part]")) {
        const role = row.dataset.part;
        const { volume, muted } = desk.volumeOf(role);
        row.querySelector("input[type=range]").value = String(volume);
        row.querySelector("input[type=checkbox]").checked = muted;
        row.hidden = role !== "click" && !desk.piece.parts.includes(role);
      }
    }

    /** Turn to another piece. */
    take(piece) {
      this.piece = piece;
      this.container = document.querySelector(`[data-piece~="${piece.id}"]`);
      this.light.follow(this.container);
      this.ruler.draw(piece);
      this.last = null;
      for (const name of ["from", "to"]) {
        this.field(name).min = String(piece.bars[0].number);
        this.field(name).max = String(piece.bars[piece.bars.length - 1].number);
      }
      this.at("tempos").replaceChildren(...piece.tempos.map((bpm) => this.tempoButton(bpm / piece.beat)));
    }

    tempoButton(tapped) {
      const bpm = Math.round(100 * tapped) / 100;
      const button = document.createElement("button");
      button.type = "button";
      button.dataset.bpm = String(bpm);
      button.textContent = String(bpm);
      button.setAttribute("aria-label", `${bpm} beats a minute`);
      return button;
    }

    state(desk) {
      const playing = desk.state !== State.STOPPED;
      setText(this.at("play"), playing ? "Stop" : "Play");
      this.root.classList.toggle("is-playing", desk.state === State.PLAYING);
      this.at("loading").hidden = desk.state !== State.LOADING;
      this.at("failed").hidden = true;
      for (const button of document.querySelectorAll("[data-play]")) {
        const mine = playing && button.dataset.play === desk.piece.id;
        setText(button.querySelector("[data-word]"), mine ? "Stop" : "Play");
        button.classList.toggle("is-playing", mine);
      }
    }

    loading(done, of) {
      const meter = this.at("loading").querySelector("progress");
      meter.max = Math.max(1, of);
      meter.value = done;
      setText(this.at("loading").querySelector("span"), of ? `Reading the sounds, ${done} of ${of}` : "");
    }

    failed(words) {
      setText(this.at("failed"), words);
      this.at("failed").hidden = false;
    }

    say(words) {
      this.live.textContent = words;
    }

    /** Show a moment of the music, or the resting mark when there is none. */
    moment(desk, moment) {
      this.last = moment;
      const place = moment ? moment.place : { counting: 0, bar: desk.cue, beat: 0, q: desk.piece.bars[desk.cue].q };
      const bars = desk.piece.bars;
      setText(this.at("bar"), `Bar ${bars[place.bar].number} of ${bars[bars.length - 1].number}`);
      this.showChords(desk, place);
      this.showBeats(bars[place.bar].beats.length, place.counting || place.beat, place.counting > 0);
      const turn = moment && desk.hasLead ? turnWords(desk.values.lead, moment.turn) : "";
      setText(this.at("turn"), moment && place.counting ? "Count" : turn);
      this.ruler.place(place.q);
      if (moment) this.light.show(app.light.marksOf(moment));
      else this.light.clear();
      if (moment && desk.values.follow) this.followBar(place);
    }

    showChords(desk, place) {
      const now = app.piece.chordAt(desk.piece, place.q);
      const after = app.piece.chordAfter(desk.piece, place.q);
      setText(this.at("chord"), now);
      setText(this.at("after"), after ? `then ${after}` : "");
      this.neck.show(now);
    }

    showBeats(count, beat, counting) {
      const row = this.at("beats");
      while (row.children.length > count) row.lastChild.remove();
      while (row.children.length < count) row.append(document.createElement("span"));
      [...row.children].forEach((mark, index) => {
        setText(mark, String(index + 1));
        mark.classList.toggle("is-now", index + 1 === beat);
      });
      row.classList.toggle("is-counting", counting);
    }

    /** Keep the sounding system in view when the music moves to another one. */
    followBar(place) {
      const number = this.piece.bars[place.bar].number;
      const system = [...(this.container ? this.container.querySelectorAll("[data-first-bar]") : [])].find(
        (one) => one.offsetParent && one.dataset.firstBar <= number && number <= one.dataset.lastBar,
      );
      if (!system || system === this.followed) return;
      this.followed = system;
      this.bringIntoView(system);
    }

    bringIntoView(element) {
      if (!element) return;
      const calm = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
      element.scrollIntoView({ block: "nearest", behavior: calm ? "auto" : "smooth" });
    }
  }

  app.controls = { Controls, turnWords };
})();
