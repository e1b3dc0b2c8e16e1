// Node 20 has no global WebSocket, and @medplum/core names it while loading. To
// be imported before it.
globalThis.WebSocket ??= class {};
