// Judges off the main thread, by the service's own rules: messages in, messages out.
// The interpreter is loaded once; a first message says where its parts lie.

let ready = null;

async function bytes(address) {
  const answer = await fetch(address);
  if (!answer.ok) throw new Error(`${address}: ${answer.status}`);
  return new Uint8Array(await answer.arrayBuffer());
}

async function load({ vendor, rules, wheel }) {
  const { loadPyodide } = await import(`${vendor}pyodide.mjs`);
  const [python, archive, compiled] = await Promise.all([
    loadPyodide({ indexURL: new URL(vendor, self.location).href, fullStdLib: false }),
    bytes(rules),
    bytes(wheel),
  ]);
  const place = { extractDir: "/lib/python3.14/site-packages" };
  python.unpackArchive(compiled, "wheel", place);
  python.unpackArchive(archive, "zip", place);
  await python.runPythonAsync("from calculations.offline import judged_text, VERSION; from calculations.statements import statement_text");
  const [judged, stated, version] = ["judged_text", "statement_text", "VERSION"].map((name) => python.globals.get(name));
  return { judged, stated, version };
}

self.onmessage = async ({ data }) => {
  const started = performance.now();
  try {
    if (data.load) {
      ready = load(data.load);
      const { version } = await ready;
      self.postMessage({ ready: version, ms: performance.now() - started });
    } else if (data.beside) {
      const { stated } = await ready;
      self.postMessage({ id: data.id, text: stated(data.pack, data.pumpSet, data.event, data.beside) });
    } else {
      const { judged } = await ready;
      const text = judged(data.pack, data.pumpSet, data.event, data.files, data.answered);
      self.postMessage({ id: data.id, judged: JSON.parse(text), ms: performance.now() - started });
    }
  } catch (error) {
    self.postMessage({ id: data.id, failed: String(error.message || error).slice(-600) });
  }
};
