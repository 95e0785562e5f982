/* keys.js: playing from the keyboard. Keys rest while one types, chooses or drags, and can be switched off whole. */
(function () {
  "use strict";
  const app = (window.Phrasewright = window.Phrasewright || {});

  // key as the browser names it -> action of the controls; the page prints the same keys beside the words
  const KEYS = Object.freeze({
    " ": "play", ArrowLeft: "back", ArrowRight: "forward", 0: "start", "+": "faster", "=": "faster", "-": "slower",
    l: "loop", "[": "from", "]": "to", c: "count", m: "click", y: "lead", n: "neck", ",": "previous", ".": "next",
  });

  const MOVING = ["ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown", "Home", "End", "PageUp", "PageDown"];

  /** True where a key belongs to the element that has the focus. */
  function belongsTo(element, key) {
    if (!element || element === document.body) return false;
    if (element.closest("select, textarea, input[type=number], input[type=text], [contenteditable]")) return true;
    if (element.closest("input[type=range], input[type=radio], [role=slider]") && MOVING.includes(key)) return true;
    return key === " " && Boolean(element.closest("input, button, summary, a"));
  }

  /** The action of a key press, "" when it has none here. */
  function actionOf(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return "";
    const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    if (belongsTo(event.target, key)) return "";
    return KEYS[key] || "";
  }

  /** Whoever chose with the mouse has not moved there to stay: the keys go back to the music. */
  function letGo(event) {
    if (event.target.matches("select, input") && !event.target.matches(":focus-visible")) event.target.blur();
  }

  function wire(controls) {
    document.addEventListener("change", letGo);
    document.addEventListener("keydown", (event) => {
      const action = controls.desk.values.keys ? actionOf(event) : "";
      if (!action || (event.repeat && action === "play")) return;
      event.preventDefault();
      controls.actions[action]();
    });
  }

  app.keys = { KEYS, actionOf, wire };
})();
