// Where a health record launches the worksheet, with iss and launch in the address (SMART App
// Launch 2). Without launch the record is signed in to from here, and asks for the patient.

import { recall } from './device.js';
import { authorizationAddress, configuration } from './smart.js';
import { choose, t, translate } from './words.js';

const at = (id) => document.getElementById(id);

const asked = new URLSearchParams(location.search);

async function launch(iss) {
  at('launch-state').textContent = t('Signing in to the health record…');
  at('launch-records').replaceChildren();
  try {
    location.replace(await authorizationAddress(await configuration(), iss, asked.get('launch')));
  } catch (error) {
    at('launch-state').textContent = error.message;
  }
}

/** offer lists the records that can be signed in to from here. */
async function offer() {
  try {
    const { issuers } = await configuration();
    at('launch-state').textContent = t('Sign in to the health record, and choose the patient there:');
    at('launch-records').replaceChildren(...issuers.map(choice));
  } catch (error) {
    at('launch-state').textContent = error.message;
  }
}

function choice(issuer) {
  const item = document.createElement('li');
  const button = document.createElement('button');
  button.type = 'button';
  button.textContent = issuer;
  button.addEventListener('click', () => launch(issuer));
  item.append(button);
  return item;
}

choose(recall().language ?? navigator.language.slice(0, 2));
document.title = t('Shoulder re-check worksheet');
translate(document.body);
if (asked.has('iss')) launch(asked.get('iss'));
else offer();
