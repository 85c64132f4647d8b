// Reads a code with the camera; typing always works.

import { button, el } from "./dom.js";

const READ = "Read a code with the camera";
const EVERY = 200; // ms between looks
const LARGEST = 800; // px of the longer side that is looked at

let stopped = () => {};

export function scanner(found) {
  if (!navigator.mediaDevices?.getUserMedia) return null;
  const video = el("video", { muted: true, playsInline: true, hidden: true });
  const said = el("p", { class: "told", role: "status" });
  const start = button(READ, async () => {
    stopped(); // one camera, however often it is touched
    if (!video.hidden) return;
    said.textContent = "";
    try {
      await watch(video, start, found);
    } catch (error) {
      said.textContent = `The camera cannot be used (${error.name}): type it instead.`;
    }
  });
  return el("div", { class: "scanner" }, start, video, said);
}

async function watch(video, start, found) {
  start.disabled = true; // until it can be stopped
  let stop = () => {};
  try {
    const look = await looker();
    const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    stopped = stop = () => stream.getTracks().forEach((track) => track.stop());
    video.srcObject = stream;
    video.hidden = false;
    [start.textContent, start.disabled] = ["Stop the camera", false];
    await video.play();
    const code = await seen(video, stream, look);
    if (code) found(code);
  } finally {
    stop(); // its own: another screen's may be on by now
    video.hidden = true;
    [start.textContent, start.disabled] = [READ, false];
  }
}

async function seen(video, stream, look) {
  while (video.isConnected && stream.active) {
    const code = await look(video);
    if (code) return code;
    await new Promise((done) => setTimeout(done, EVERY));
  }
  return null;
}

// The browser's own reader, else ours. Some browsers have its name and no reader behind it.
async function looker() {
  try {
    const detector = new BarcodeDetector({ formats: ["qr_code"] });
    await detector.detect(new ImageData(8, 8));
    return async (video) => (await detector.detect(video))[0]?.rawValue;
  } catch {
    await import("./vendor/jsQR.js");
    return ours;
  }
}

const canvas = document.createElement("canvas");

function ours(video) {
  const scale = Math.min(1, LARGEST / Math.max(video.videoWidth, video.videoHeight));
  [canvas.width, canvas.height] = [video.videoWidth * scale, video.videoHeight * scale];
  if (!canvas.width) return null;
  const drawn = canvas.getContext("2d", { willReadFrequently: true });
  drawn.drawImage(video, 0, 0, canvas.width, canvas.height);
  const { data, width, height } = drawn.getImageData(0, 0, canvas.width, canvas.height);
  return globalThis.jsQR(data, width, height)?.data;
}
