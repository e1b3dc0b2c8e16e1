// A record with an invented patient that launches the worksheet, to try it on one machine:
// node internal/worksheet/browser/tryout.mjs. It lets in everybody and forgets everything.

import { readFileSync } from 'node:fs';
import { Launcher } from './launcher.mjs';

const launcher = await Launcher.start([9080, 9081]);
const { entry } = JSON.parse(readFileSync(new URL('../../../testdata/scenarios/ten-visits/input.json', import.meta.url), 'utf8'));
for (const { resource } of entry) launcher.store.put(resource);
launcher.chosen = { patient: 'demo-1' };
console.log(`The record is ${launcher.base}. It launches the worksheet for the invented patient by

    ${launcher.launch('http://127.0.0.1:8080', launcher.chosen)}

once; http://127.0.0.1:8080/worksheet/launch.html signs in to it as often as you like.`);
