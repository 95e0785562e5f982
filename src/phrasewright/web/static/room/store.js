/** store.js: takes that have not been sent yet, kept in this browser (IndexedDB), sound second by second as it comes. */

/**
 * @typedef {object} KeptTake
 * @property {string} key
 * @property {string} lesson
 * @property {string} piece
 * @property {string} title of the piece
 * @property {number} tempoBpm
 * @property {number | null} offsetS second of the take at which bar 1 begins, null while not known
 * @property {boolean} alone
 * @property {number} rateHz
 * @property {number} seconds
 * @property {string} recordedAt
 * @property {number} touchedMs when it was last written to
 *
 * @typedef {object} Store
 * @property {boolean} lasting whether it outlives the page
 * @property {(take: KeptTake) => Promise<void>} put
 * @property {(key: string, index: number, samples: Int16Array) => Promise<void>} append
 * @property {(lesson: string) => Promise<KeptTake[]>} list oldest first
 * @property {(key: string) => Promise<Int16Array[]>} sound
 * @property {(key: string) => Promise<void>} remove
 */

const NAME = "phrasewright-room";
const LAST = Number.MAX_SAFE_INTEGER;

/**
 * The store of this browser; one in memory where it refuses.
 *
 * @returns {Promise<Store>}
 */
export async function openStore() {
  try {
    return databaseStore(await opened());
  } catch {
    return memoryStore();
  }
}

/** @returns {Promise<IDBDatabase>} */
function opened() {
  const request = indexedDB.open(NAME, 1);
  request.onupgradeneeded = () => {
    request.result.createObjectStore("takes", { keyPath: "key" });
    request.result.createObjectStore("sound");
  };
  return answer(request);
}

/**
 * @template T
 * @param {IDBRequest<T>} request
 * @returns {Promise<T>}
 */
function answer(request) {
  return new Promise((done, fail) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => fail(request.error);
  });
}

/**
 * @param {IDBDatabase} database
 * @returns {Store}
 */
function databaseStore(database) {
  /** @param {string} table @param {IDBTransactionMode} [mode] */
  const table = (table, mode = "readonly") => database.transaction(table, mode).objectStore(table);
  /** @param {string} key */
  const all = (key) => IDBKeyRange.bound([key, 0], [key, LAST]);
  return {
    lasting: true,
    put: async (take) => void (await answer(table("takes", "readwrite").put(take))),
    append: async (key, index, samples) => void (await answer(table("sound", "readwrite").put(samples, [key, index]))),
    list: async (lesson) => {
      const takes = /** @type {KeptTake[]} */ (await answer(table("takes").getAll()));
      return takes.filter((take) => take.lesson === lesson).sort((a, b) => a.recordedAt.localeCompare(b.recordedAt));
    },
    sound: (key) => answer(table("sound").getAll(all(key))),
    remove: async (key) => {
      await answer(table("takes", "readwrite").delete(key));
      await answer(table("sound", "readwrite").delete(all(key)));
    },
  };
}

/** @returns {Store} */
function memoryStore() {
  /** @type {Map<string, KeptTake>} */
  const takes = new Map();
  /** @type {Map<string, Int16Array[]>} */
  const sounds = new Map();
  return {
    lasting: false,
    put: async (take) => void takes.set(take.key, { ...take }),
    append: async (key, index, samples) => {
      const blocks = sounds.get(key) ?? [];
      blocks[index] = samples;
      sounds.set(key, blocks);
    },
    list: async (lesson) => [...takes.values()].filter((take) => take.lesson === lesson),
    sound: async (key) => sounds.get(key) ?? [],
    remove: async (key) => {
      takes.delete(key);
      sounds.delete(key);
    },
  };
}
