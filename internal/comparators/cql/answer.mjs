// Prints what the rules give for each Bundle: node answer.mjs FILE...

import { readFileSync } from 'node:fs';
import { answer } from './engine.mjs';

for (const file of process.argv.slice(2)) {
  console.log(await answer(readFileSync(file, 'utf8')));
}
