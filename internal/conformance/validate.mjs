// Usage: node validate.mjs [--publish FILE]... FILE...
// Checks each JSON file, which holds one resource; those after --publish are
// definitions of the project that the others are checked against, and are
// checked themselves. Prints one JSON object a line: every issue with its file,
// and at the end { checked, errors }. Exits 1 if there is any error.
import { readFileSync } from 'node:fs';
import { publish } from './definitions.mjs';
import { makeValidator } from './validator.mjs';

const files = process.argv.slice(2).filter(a => a !== '--publish');
if (!files.length) {
  console.error('usage: node validate.mjs [--publish FILE]... FILE...');
  process.exit(2);
}
const resources = new Map(files.map(f => [f, JSON.parse(readFileSync(f, 'utf8'))]));
process.argv.forEach((a, i) => { if (a === '--publish') publish(resources.get(process.argv[i + 1])); });

const validate = makeValidator();
let errors = 0;
for (const [file, resource] of resources) {
  for (const issue of validate(resource)) {
    if (issue.severity === 'error' || issue.severity === 'fatal') errors++;
    console.log(JSON.stringify({ file, ...issue }));
  }
}
console.log(JSON.stringify({ checked: resources.size, errors }));
process.exitCode = errors ? 1 : 0;
