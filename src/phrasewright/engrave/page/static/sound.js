/* sound.js: the clips. Each part's sound file registers itself as base64 FLAC, so that it also loads from disk.
 *
 * A file calls Phrasewright.sound.register(name, {rate, clips: {key: [start, length]}, level, release, room, sides, data}).
 * Files load when first needed; a sprite is decoded once and cut into one buffer for each clip.
 */
(function () {
  "use strict";
  const app = (window.Phrasewright = window.Phrasewright || {});
  const FOLDER = "assets/";
  const files = new Map(); // name -> what was registered
  const waiting = new Map(); // name -> promise of the script

  function register(name, file) {
    files.set(name, file);
  }

  function loadScript(name) {
    if (files.has(name) && !waiting.has(name)) return Promise.resolve(files.get(name));
    if (!waiting.has(name)) {
      waiting.set(
        name,
        new Promise((done, fail) => {
          const script = document.createElement("script");
          script.src = `${FOLDER}sound-${name}.js`;
          script.onload = () => (files.has(name) ? done(files.get(name)) : fail(new Error(`${script.src} holds no sound`)));
          script.onerror = () => {
            waiting.delete(name);
            fail(new Error(`${script.src} is missing from the pack`));
          };
          document.head.append(script);
        }),
      );
    }
    return waiting.get(name);
  }

  function bytesOf(base64) {
    const text = atob(base64);
    const bytes = new Uint8Array(text.length);
    for (let i = 0; i < text.length; i += 1) bytes[i] = text.charCodeAt(i);
    return bytes.buffer;
  }

  function cut(context, whole, startS, lengthS) {
    const rate = whole.sampleRate;
    const start = Math.round(startS * rate);
    const length = Math.max(1, Math.min(Math.round(lengthS * rate), whole.length - start));
    const clip = context.createBuffer(whole.numberOfChannels, length, rate);
    for (let channel = 0; channel < whole.numberOfChannels; channel += 1) {
      clip.copyToChannel(whole.getChannelData(channel).subarray(start, start + length), channel);
    }
    return clip;
  }

  /** Scale an impulse response to energy 1, on average over its channels, so that shares sent to it mean the same everywhere. */
  function toUnitEnergy(response) {
    const channels = Array.from({ length: response.numberOfChannels }, (_, index) => response.getChannelData(index));
    const energy = channels.reduce((sum, samples) => sum + samples.reduce((part, x) => part + x * x, 0), 0);
    const scale = Math.sqrt(channels.length / Math.max(energy, 1e-12));
    for (const samples of channels) for (let i = 0; i < samples.length; i += 1) samples[i] *= scale;
    return response;
  }

  /** The part that a file sounds in; of the recordings, one for each tempo, one is held at a time. */
  function roleOf(name) {
    return name.startsWith("recording-") ? "recording" : name;
  }

  /** Holds the decoded clips of one audio context. */
  class Bank {
    constructor(context) {
      this.context = context;
      this.parts = new Map(); // role -> {level, release, room, sides, clips: Map(key -> AudioBuffer)}
      this.room = null;
    }

    /** Load and decode what is missing; progress(done, of) is called as files arrive. */
    async load(names, progress) {
      const missing = names.filter((name) => (name === "room" ? !this.room : !this.has(name)));
      let done = 0;
      progress(done, missing.length);
      for (const name of missing) {
        const file = await loadScript(name);
        const whole = await this.context.decodeAudioData(bytesOf(file.data));
        if (name === "room") this.room = toUnitEnergy(whole);
        else this.parts.set(roleOf(name), { ...this.cutAll(file, whole), name });
        done += 1;
        progress(done, missing.length);
      }
    }

    has(name) {
      const part = this.parts.get(roleOf(name));
      return part !== undefined && part.name === name;
    }

    cutAll(file, whole) {
      const clips = new Map();
      for (const [key, [start, length]] of Object.entries(file.clips)) {
        clips.set(key, cut(this.context, whole, start / file.rate, length / file.rate));
      }
      return { level: file.level, release: file.release, room: file.room, sides: file.sides, clips };
    }

    /** The buffer of a clip; clicks live with the drums. */
    clip(role, key) {
      const part = this.parts.get(role === "click" ? "drums" : role);
      return part ? part.clips.get(key) : undefined;
    }
  }

  app.sound = { register, Bank };
})();
