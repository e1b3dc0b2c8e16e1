// Extracts Observations from a QuestionnaireResponse by the templates of its Questionnaire, and prints them, one a line.
//
//     node extract.mjs QUESTIONNAIRE RESPONSE

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

// The package's ES module imports a folder, which Node does not do.
const { extract } = createRequire(import.meta.url)('@aehrc/sdc-template-extract');

const [questionnaire, response] = process.argv.slice(2).map((file) => JSON.parse(readFileSync(file, 'utf8')));
const parameters = {
  resourceType: 'Parameters',
  parameter: [
    { name: 'questionnaire-response', resource: response },
    { name: 'questionnaire', resource: questionnaire },
  ],
};
const answer = await extract(parameters, async () => { throw new Error('nothing is to be fetched'); }, { sourceServerUrl: 'http://127.0.0.1:1' });
if (answer.resourceType === 'OperationOutcome') {
  console.error(JSON.stringify(answer));
  process.exit(1);
}
for (const { name, resource } of answer.parameter) {
  if (name === 'issues') console.error(JSON.stringify(resource));
  const resources = resource?.resourceType === 'Bundle' ? resource.entry.map((entry) => entry.resource) : [resource];
  if (name === 'return') for (const one of resources) console.log(JSON.stringify(one));
}
