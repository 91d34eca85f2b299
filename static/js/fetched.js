/** Modules that come when they are needed. */

const coming = new Map(); // name → its module
const failed = new Map(); // name → how often it could not be fetched

/** Browsers keep in mind that a module could not be fetched, for as long as the page is open: the next try has another address. */
export function fetched(name) {
  const before = failed.get(name) || 0;
  if (!coming.has(name)) coming.set(name, import(`./${name}.js${before ? `?${before}` : ""}`));
  const module = coming.get(name);
  module.catch(() => {
    if (coming.get(name) !== module) return;
    coming.delete(name);
    failed.set(name, before + 1);
  });
  return module;
}
