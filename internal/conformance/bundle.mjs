// Rules of Bundles that R4 states in words only.
import { UUID } from './elements.mjs';

// bundleFaults checks the entries of a Bundle.
export function bundleFaults(bundle, say) {
  const conditions = new Set();
  (bundle.entry ?? []).forEach((entry, i) => {
    const fault = (at, message) => say('error', 'defs', `Bundle.entry[${i}]${at}`, message);
    fullUrlFaults(entry, fault);
    if (!entry.request || !['transaction', 'batch'].includes(bundle.type)) return;
    requestFaults(entry, fault, text => say('warning', 'defs', `Bundle.entry[${i}]`, text));
    const condition = entry.request.ifNoneExist;
    if (condition === undefined) return;
    if (/[?\s]/.test(condition)) fault('.request.ifNoneExist', 'must be only what follows the question mark');
    const key = `${entry.resource?.resourceType}?${condition}`;
    if (conditions.has(key)) fault('.request.ifNoneExist', 'two entries with the same condition');
    conditions.add(key);
  });
}

function fullUrlFaults({ fullUrl, resource }, fault) {
  if (!fullUrl) return;
  if (fullUrl.startsWith('urn:uuid:') && !UUID.test(fullUrl)) fault('.fullUrl', 'malformed urn:uuid (lower-case hexadecimal)');
  if (!/^(urn:(uuid|oid):|https?:\/\/)/.test(fullUrl)) fault('.fullUrl', 'fullUrl must be absolute');
  const tail = /\/([A-Z][A-Za-z]+)\/([A-Za-z0-9\-.]{1,64})$/.exec(fullUrl);
  if (tail && resource && (tail[1] !== resource.resourceType || tail[2] !== resource.id)) {
    fault('.fullUrl', 'fullUrl disagrees with the resource type or id');
  }
}

function requestFaults({ fullUrl, resource, request: { method, url } }, fault, warn) {
  if (/^(POST|PUT)$/.test(method) && !resource) fault('', `${method} without a resource`);
  if (method === 'POST' && resource && url !== resource.resourceType && !url.includes('$')) fault('.request.url', `POST of a ${resource.resourceType} to ${url}`);
  if (method === 'POST' && !fullUrl) warn('a create without fullUrl cannot be referred to');
  if (method === 'PUT' && resource && !url.includes('?') && url !== `${resource.resourceType}/${resource.id}`) {
    fault('.request.url', 'PUT url disagrees with the resource');
  }
}
