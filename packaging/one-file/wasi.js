// Runs the program once: a request is its standard input, the answer its standard output. Offers it the system calls of
// WASI preview 1 (the standard's `wasi_snapshot_preview1`) that this needs: two streams, a clock and random numbers, no files and no network.

const DONE = 0;
const BAD_DESCRIPTOR = 8;
const NOT_THERE = 52;

class Ended extends Error {
  constructor(code) { super(`ended with ${code}`); this.code = code; }
}

const joined = (chunks) => {
  const whole = new Uint8Array(chunks.reduce((sum, chunk) => sum + chunk.length, 0));
  let at = 0;
  for (const chunk of chunks) { whole.set(chunk, at); at += chunk.length; }
  return whole;
};

/** Answers `request`, bytes for bytes. Throws what the program says where it fails. */
export const run = (module, request) => {
  let memory;
  let read = 0;
  const written = { 1: [], 2: [] };
  const view = () => new DataView(memory.buffer);
  // A list of `count` stretches of memory: address and length of each.
  const stretches = (list, count) => Array.from({ length: count }, (_, i) => {
    const at = list + 8 * i;
    return new Uint8Array(memory.buffer, view().getUint32(at, true), view().getUint32(at + 4, true));
  });
  const calls = {
    fd_read: (descriptor, list, count, done) => {
      if (descriptor !== 0) return BAD_DESCRIPTOR;
      const before = read;
      for (const stretch of stretches(list, count)) {
        const part = request.subarray(read, read + stretch.length);
        stretch.set(part);
        read += part.length;
      }
      view().setUint32(done, read - before, true);
      return DONE;
    },
    fd_write: (descriptor, list, count, done) => {
      if (!written[descriptor]) return BAD_DESCRIPTOR;
      const parts = stretches(list, count).map((stretch) => stretch.slice());
      written[descriptor].push(...parts);
      view().setUint32(done, parts.reduce((sum, part) => sum + part.length, 0), true);
      return DONE;
    },
    environ_sizes_get: (count, size) => {
      view().setUint32(count, 0, true);
      view().setUint32(size, 0, true);
      return DONE;
    },
    environ_get: () => DONE,
    clock_time_get: (_clock, _precision, time) => {
      view().setBigUint64(time, BigInt(Date.now()) * 1_000_000n, true);
      return DONE;
    },
    random_get: (at, length) => {
      crypto.getRandomValues(new Uint8Array(memory.buffer, at, length));
      return DONE;
    },
    sched_yield: () => DONE,
    proc_exit: (code) => { throw new Ended(code); },
  };
  const offered = WebAssembly.Module.imports(module).map(({ name }) => [name, calls[name] ?? (() => NOT_THERE)]);
  const { exports } = new WebAssembly.Instance(module, { wasi_snapshot_preview1: Object.fromEntries(offered) });
  memory = exports.memory;
  try {
    exports._start();
  } catch (error) {
    if (!(error instanceof Ended && error.code === 0)) {
      throw new Error(new TextDecoder().decode(joined(written[2])) || error.message);
    }
  }
  return joined(written[1]);
};
