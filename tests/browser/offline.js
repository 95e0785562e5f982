// The page's own transport and mixer, played into memory and handed to Python as base64 of 32-bit floats.
window.offline = {
  settingsOf(changes) {
    const { desk } = Phrasewright.player;
    return { bpm: 120, from: 0, to: 0, loop: false, countIn: "off", click: false, lead: "hear", metronome: desk.lesson.metronome, ...changes };
  },

  pieceOf(id) {
    return Phrasewright.player.desk.pieceOf(id);
  },

  async prepare(seconds, muted, room, gain = 1, recording = "") {
    const rate = Phrasewright.lesson.rate;
    const context = new OfflineAudioContext(2, Math.round(seconds * rate), rate);
    const bank = new Phrasewright.sound.Bank(context);
    const names = ["lead", "chords", "bass", "drums", ...(recording ? [recording] : []), ...(room ? ["room"] : [])];
    await bank.load(names, () => {});
    const mixer = new Phrasewright.mixer.Mixer(context, bank);
    mixer.settle();
    for (const role of muted) mixer.setVolume(role, 70, true);
    mixer.master.gain.value *= gain;
    return { context, transport: new Phrasewright.transport.Transport(mixer) };
  },

  // order: {piece, settings, seconds, at, bar, muted, room, gain (of the whole mix), channel, steps: [{at, change | seek | stop}]}
  async render(order) {
    const { context, transport } = await this.prepare(order.seconds, order.muted || [], order.room, order.gain, this.pieceOf(order.piece).recording);
    const at = order.at || 0;
    transport.start(this.pieceOf(order.piece), this.settingsOf(order.settings), order.bar || 0, at);
    let now = 0;
    for (const step of order.steps || []) {
      transport.fill(step.at + 0.25, now);
      now = step.at;
      if (step.change) transport.change(step.change, now);
      else if (step.seek !== undefined) transport.seek(step.seek, now);
      else transport.stop(now);
    }
    transport.fill(order.seconds, now);
    const samples = (await context.startRendering()).getChannelData(order.channel || 0);
    const bytes = new Uint8Array(samples.buffer, samples.byteOffset, samples.byteLength);
    let text = "";
    for (let i = 0; i < bytes.length; i += 0x8000) text += String.fromCharCode(...bytes.subarray(i, i + 0x8000));
    return btoa(text);
  },
};
