// Runs a WebAssembly program of the WASI kind: standard input and output, and nothing else of this machine.
//
//   node run.mjs PROGRAM.wasm < job.json > packet
import { readFile } from "node:fs/promises";
import { WASI } from "node:wasi";

const wasi = new WASI({ version: "preview1", args: ["packet"], env: {}, preopens: {}, returnOnExit: true });
const program = await WebAssembly.compile(await readFile(process.argv[2]));
process.exitCode = wasi.start(await WebAssembly.instantiate(program, wasi.getImportObject()));
