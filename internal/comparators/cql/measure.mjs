// Measures the rules on a Bundle, and reading it alone, in this process:
// node measure.mjs FILE WARM-UP SECONDS. Prints a line of JSON for each.

import { readFileSync } from 'node:fs';
import { answer, engine, load, model } from './engine.mjs';

const text = readFileSync(process.argv[2], 'utf8');
const [warmUp, seconds] = process.argv.slice(3).map(Number);

// run repeats the work, one after the other, until the processor has worked on
// it for enough seconds: on a busy machine the clock would end it too early. The
// processor's time is that of all threads, the garbage collector's too.
async function run(work, enough) {
  const before = process.cpuUsage();
  const start = process.hrtime.bigint();
  for (let iterations = 1; ; iterations++) {
    await work();
    const { user, system } = process.cpuUsage(before);
    const cpuSeconds = (user + system) / 1e6;
    if (cpuSeconds >= enough) {
      return { iterations, seconds: Number(process.hrtime.bigint() - start) / 1e9, cpuSeconds };
    }
  }
}

async function measure(name, what, work) {
  await run(work, warmUp);
  console.log(JSON.stringify({ name, what, ...await run(work, seconds) }));
}

await measure(`JSON.parse and ${model}`, 'reads the Bundle, whose elements are wrapped only when they are used',
  () => load(text).currentPatient());
await measure(engine, 'a subset of the rules as ELM by hand: reads the Bundle, runs the rules, writes the numbers as JSON',
  () => answer(text));
