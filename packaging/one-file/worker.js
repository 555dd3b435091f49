// Works out one answer at a time, apart from the page, which stays at hand meanwhile. Whoever no longer waits ends it.

import { run } from "./wasi.js";

let module;

onmessage = ({ data }) => {
  if (data instanceof WebAssembly.Module) {
    module = data;
    return;
  }
  try {
    const answer = run(module, data);
    postMessage({ answer }, [answer.buffer]);
  } catch (error) {
    postMessage({ failed: error.message });
  }
};
