/** microphone.js: the microphone, on the player's own audio clock; open as long as somebody holds it. */

const SOUND_AS_IT_IS = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
const GUESSED_INPUT_S = 0.01; // a buffer or two, where the browser does not tell

/** Why there is no microphone, in words for a student. */
export class NoMicrophone extends Error {}

/** @type {Record<string, string>} */
const WHY = {
  NotAllowedError: "The browser may not use the microphone. Allow it beside the address of this page, then try again.",
  NotFoundError: "No microphone was found. Plug one in, then try again.",
  NotReadableError: "Another program holds the microphone. Close it, then try again.",
  NotSupportedError: "This browser cannot listen at the track's own rate. Try another browser.",
};
const NO_DEVICES = "This browser lets a page listen only over https or from this computer itself.";

export class Microphone {
  /** @param {PlayerDesk} desk */
  constructor(desk) {
    this.desk = desk;
    /** @type {Set<string>} */
    this.holders = new Set();
    /** @type {MediaStream | null} */
    this.stream = null;
    /** @type {MediaStreamAudioSourceNode | null} */
    this.source = null;
    /** @type {Promise<void> | null} */
    this.opening = null;
  }

  /** @returns {AudioContext} */
  get context() {
    this.desk.open();
    return /** @type {AudioContext} */ (this.desk.context);
  }

  /** @returns {string} what the browser calls it, "" while closed */
  get name() {
    return this.stream?.getAudioTracks()[0]?.label ?? "";
  }

  /** Estimated seconds from a sound at the strings to its sample, and what is known of it. */
  get inputDelayS() {
    const settings = /** @type {MediaTrackSettings & {latency?: number}} */ (this.stream?.getAudioTracks()[0]?.getSettings() ?? {});
    return settings.latency || GUESSED_INPUT_S;
  }

  /** Seconds from scheduling a sound to hearing it, as far as the browser knows. */
  get outputDelayS() {
    const { baseLatency = 0, outputLatency = 0 } = this.context;
    return baseLatency + outputLatency;
  }

  /**
   * Open it for a use, or join who holds it already. Raises NoMicrophone.
   *
   * @param {string} use
   */
  async hold(use) {
    this.holders.add(use);
    try {
      this.opening = this.opening ?? this.open();
      await this.opening;
    } catch (error) {
      this.holders.delete(use);
      this.opening = null;
      throw error instanceof NoMicrophone ? error : new NoMicrophone(WHY[/** @type {Error} */ (error).name] ?? String(error));
    }
  }

  async open() {
    if (!navigator.mediaDevices) throw new NoMicrophone(NO_DEVICES);
    const { context } = this;
    await context.resume();
    const stream = await navigator.mediaDevices.getUserMedia({ audio: SOUND_AS_IT_IS });
    await context.audioWorklet.addModule(new URL("./worklets.js", import.meta.url));
    this.source = context.createMediaStreamSource(stream);
    this.stream = stream;
  }

  /**
   * A worklet that hears the microphone. Ends with `release`.
   *
   * @param {string} processor
   * @param {object} [options]
   */
  node(processor, options = {}) {
    const node = new AudioWorkletNode(this.context, processor, {
      numberOfInputs: 1, numberOfOutputs: 1, channelCount: 1, channelCountMode: "explicit", processorOptions: options,
    });
    node.connect(this.context.destination); // silent, but only what leads there is run
    this.source?.connect(node);
    return node;
  }

  /** @param {AudioWorkletNode} node */
  release(node) {
    node.port.postMessage("end");
    node.port.onmessage = null;
    this.source?.disconnect(node);
    node.disconnect();
  }

  /**
   * Close it when nobody else holds it.
   *
   * @param {string} use
   */
  letGo(use) {
    this.holders.delete(use);
    if (this.holders.size) return;
    for (const track of this.stream?.getTracks() ?? []) track.stop();
    this.source?.disconnect();
    this.stream = this.source = this.opening = null;
  }
}
