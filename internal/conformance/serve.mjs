// Usage: node serve.mjs
// Serves a record of its own that trusts its callers and prints its base
// address, until it is killed.
import { startRecord } from './record.mjs';

console.log((await startRecord({ trusting: true })).base);
