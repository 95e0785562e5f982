/* memory.js: what the browser remembers of a lesson. A browser that refuses to remember is not an error. */
(function () {
  "use strict";
  const app = (window.Phrasewright = window.Phrasewright || {});

  class Memory {
    constructor(lessonId) {
      this.key = `phrasewright:${lessonId}`;
    }

    /** What was saved, laid over the defaults; unknown keys and wrong types fall away. */
    read(defaults) {
      let saved = {};
      try {
        saved = JSON.parse(window.localStorage.getItem(this.key)) || {};
      } catch {
        saved = {};
      }
      const result = { ...defaults };
      for (const key of Object.keys(defaults)) if (typeof saved[key] === typeof defaults[key]) result[key] = saved[key];
      return result;
    }

    write(values) {
      try {
        window.localStorage.setItem(this.key, JSON.stringify(values));
      } catch {
        // private windows and full stores: the page works without
      }
    }
  }

  app.memory = { Memory };
})();
