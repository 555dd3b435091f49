// Carries what the page asks to the program inside this file, in place of a server: the same requests, the same answers.

import packed from "./program.wasm.gz";
import workerScript from "./worker.txt";
import { Refused, sendBy } from "../../src/serve/page/carrier.js";

/** Workers kept for the next request. */
const KEPT = 2;

const LINE_END = 10;

const unpacked = async () => {
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
  return WebAssembly.compile(await new Response(stream).arrayBuffer());
};

const module = unpacked();
const workerAddress = URL.createObjectURL(new Blob([workerScript], { type: "text/javascript" }));
const idle = [];

const started = async () => {
  const worker = new Worker(workerAddress);
  worker.postMessage(await module);
  return worker;
};

/** Gives what the program answers to `request`. */
const answered = async (request, signal) => {
  signal?.throwIfAborted();
  const worker = idle.pop() ?? await started();
  const told = await new Promise((resolve) => {
    signal?.addEventListener("abort", () => resolve({ given_up: true }));
    worker.onmessage = ({ data }) => resolve(data);
    worker.onerror = (event) => resolve({ failed: event.message });
    worker.postMessage(request);
  });
  if (told.answer && idle.length < KEPT) idle.push(worker); else worker.terminate();
  signal?.throwIfAborted();
  if (told.answer) return told.answer;
  throw new Refused({
    sentence: `the program in this file failed on it: ${told.failed}`,
    remedy: "the program for Windows or Linux may do it: there a part that fails is tried in another way",
    about: "page",
  });
};

/** A line with the head of the request, and its body. */
const requestOf = async (path, { method, headers, body }) => {
  const head = new TextEncoder().encode(`${JSON.stringify({ method, path, headers })}\n`);
  return new Uint8Array(await new Blob([head, body ?? ""]).arrayBuffer());
};

const responseOf = (answer) => {
  const end = answer.indexOf(LINE_END);
  const { status, headers } = JSON.parse(new TextDecoder().decode(answer.subarray(0, end)));
  return new Response(answer.subarray(end + 1), { status, headers });
};

sendBy(async (path, request) => responseOf(await answered(await requestOf(path, request), request.signal)));
