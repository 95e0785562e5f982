/* mixer.js: how clips become a mix: a gain for each part, one shared room, a soft ceiling, and voices that let go softly.
 *
 * The whole chain has no delay of its own: what is scheduled for a time is heard at that time.
 */
(function () {
  "use strict";
  const app = (window.Phrasewright = window.Phrasewright || {});

  const ROLES = ["lead", "chords", "bass", "drums", "recording", "click"];
  const REST_VOLUME = 70; // the volume at which a part has its own level
  const MASTER_GAIN = 1; // as loud as the audio files; what four parts together reach beyond the knee, the ceiling bends
  const KNEE = 0.7; // the ceiling bends what is louder than this, and leaves the rest exactly alone
  const CEILING = 0.98;
  const RANGE = 4; // loudest input the ceiling knows, in amplitude
  const GLIDE_S = 0.015; // time constant of volume changes
  const CUT_S = 0.03; // how long a note takes to fall silent when the player stops, or its string goes on in the next

  /** Gain of a volume 0..100: a square law through 1 at the resting volume. */
  function gainOf(volume) {
    return (volume / REST_VOLUME) ** 2;
  }

  /** The ceiling's output for an input amplitude: straight up to the knee, then bending towards the ceiling. */
  function softened(x) {
    const size = Math.abs(x);
    if (size <= KNEE) return x;
    return Math.sign(x) * (KNEE + (CEILING - KNEE) * Math.tanh((size - KNEE) / (CEILING - KNEE)));
  }

  function ceiling(context) {
    const points = 8193;
    const curve = new Float32Array(points);
    for (let i = 0; i < points; i += 1) curve[i] = softened(RANGE * ((2 * i) / (points - 1) - 1));
    const scale = context.createGain();
    scale.gain.value = 1 / RANGE;
    const shaper = context.createWaveShaper();
    shaper.curve = curve;
    scale.connect(shaper);
    return { input: scale, output: shaper };
  }

  /** One mix on an audio context. */
  class Mixer {
    constructor(context, bank) {
      this.context = context;
      this.bank = bank;
      this.master = context.createGain();
      this.master.gain.value = MASTER_GAIN;
      const top = ceiling(context);
      this.master.connect(top.input);
      top.output.connect(context.destination);
      this.room = context.createConvolver();
      this.room.normalize = false; // the bank has brought it to unit energy
      this.room.connect(this.master);
      this.strips = new Map(ROLES.map((role) => [role, this.strip()]));
      this.volumes = Object.fromEntries(ROLES.map((role) => [role, { volume: REST_VOLUME, muted: false }]));
    }

    strip() {
      const fader = this.context.createGain();
      const send = this.context.createGain();
      send.gain.value = 0;
      fader.connect(send);
      send.connect(this.room);
      return { fader, send, seated: false };
    }

    /** Put a strip in its place: mono parts by a gain for each side, stereo parts as they are. */
    seat(strip, sides) {
      if (strip.seated) return;
      strip.seated = true;
      if (!sides) {
        strip.fader.connect(this.master);
        return;
      }
      const both = this.context.createChannelMerger(2);
      sides.forEach((gain, channel) => {
        const side = this.context.createGain();
        side.gain.value = gain;
        strip.fader.connect(side).connect(both, 0, channel);
      });
      both.connect(this.master);
    }

    /** Take over levels and room shares once the bank has loaded. */
    settle() {
      if (this.bank.room && !this.room.buffer) this.room.buffer = this.bank.room;
      for (const role of ROLES) {
        const part = this.bank.parts.get(role === "click" ? "drums" : role);
        if (!part) continue;
        this.seat(this.strips.get(role), part.sides);
        this.strips.get(role).send.gain.value = role === "click" ? 0 : part.room;
        this.setVolume(role, this.volumes[role].volume, this.volumes[role].muted);
      }
    }

    /** volume: 0..100. */
    setVolume(role, volume, muted) {
      this.volumes[role] = { volume, muted };
      const part = this.bank.parts.get(role === "click" ? "drums" : role);
      const gain = muted || !part ? 0 : part.level * gainOf(volume);
      const { fader } = this.strips.get(role);
      if (this.context.currentTime === 0) fader.gain.value = gain;
      else fader.gain.setTargetAtTime(gain, this.context.currentTime, GLIDE_S);
    }

    /** Start a clip at a time of the audio clock, to be let go at another; undefined when there is no such clip.
     *
     * into: seconds of the clip that are passed over.
     */
    start(item, at, end, into = 0) {
      const buffer = this.bank.clip(item.role, item.key);
      if (!buffer) return undefined;
      const part = this.bank.parts.get(item.role === "click" ? "drums" : item.role);
      const frame = 1 / this.context.sampleRate;
      const whole = Math.round(at / frame) * frame; // between samples the browser would blur the attack
      const source = this.context.createBufferSource();
      source.buffer = buffer;
      source.playbackRate.value = item.rate;
      const envelope = this.context.createGain();
      envelope.gain.value = item.gain;
      source.connect(envelope).connect(this.strips.get(item.role).fader);
      source.start(whole, into);
      const voice = new Voice(source, envelope, whole, item);
      source.onended = () => {
        voice.over = true;
        envelope.disconnect();
      };
      const stops = item.event && item.event.stops;
      if (item.role !== "click" && (part.release !== null || stops)) voice.release(end, stops ? CUT_S : part.release);
      return voice;
    }
  }

  /** A sounding clip. */
  class Voice {
    constructor(source, envelope, at, item) {
      Object.assign(this, { source, envelope, at, item, end: Infinity, releaseS: null, over: false });
    }

    /** Fade to silence from `end` on, over `lengthS`; may be called again with another end before the fade begins. */
    release(end, lengthS) {
      const gain = this.envelope.gain;
      this.end = Math.max(end, this.at);
      this.releaseS = lengthS;
      gain.cancelScheduledValues(this.at);
      gain.setValueAtTime(this.item.gain, this.at);
      gain.setValueAtTime(this.item.gain, this.end);
      gain.linearRampToValueAtTime(0, this.end + lengthS);
      this.source.stop(this.end + lengthS + 0.01);
    }

    /** Move the end of a note that is still held. */
    moveEnd(end, now) {
      if (this.releaseS !== null && this.end > now) this.release(Math.max(end, now), this.releaseS);
    }

    /** Let go soon: before it began it never sounds; while it sounds it fades without a click. */
    cut(now) {
      if (this.over) return;
      if (this.at >= now) {
        this.source.onended = null;
        this.source.stop(0);
        this.envelope.disconnect();
        this.over = true;
      } else if (this.end > now) {
        this.release(now, CUT_S);
      }
    }
  }

  app.mixer = { Mixer, gainOf, softened, ROLES, REST_VOLUME };
})();
