// Proves the layer rule of docs/ARCHITECTURE: imports go downwards only, and into another folder only through its door.
// Reads import statements as text; needs nothing installed. Exit 1 with one line per violation.
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = resolve(dirname(fileURLToPath(import.meta.url)), '..');

/** folder -> folders it may import (types included) */
export const LAYERS = {
  base: [],
  signal: ['base'],
  tape: ['base'],
  media: ['base', 'signal'],
  examine: ['base', 'signal', 'tape'],
  align: ['base', 'signal'],
  reconcile: ['base', 'signal', 'align'],
  assemble: ['base', 'align', 'reconcile'],
  measure: ['base', 'signal', 'tape'],
  simulate: ['base', 'signal', 'tape'],
  derive: ['base', 'signal'],
  plan: ['base', 'tape'],
  deliver: ['base', 'signal', 'tape', 'media', 'examine', 'align', 'reconcile', 'assemble', 'measure', 'plan'],
  tasks: [
    'base',
    'signal',
    'tape',
    'media',
    'examine',
    'align',
    'reconcile',
    'assemble',
    'measure',
    'simulate',
    'derive',
    'plan',
    'deliver',
  ],
  cli: ['base', 'tape', 'deliver', 'tasks'],
};
/** deliver sees these only as types of the report */
const TYPES_ONLY = { deliver: ['signal', 'examine', 'align', 'reconcile', 'assemble', 'measure', 'plan'] };
/** the others are pure: they never name Node */
const NAMES_NODE = ['media', 'deliver', 'tasks', 'cli'];
const IMPORT = /(?:^|\n)\s*(?:import|export)\s+(type\s+)?(?:[^;]*?\sfrom\s+)?['"]([^'"]+)['"]/g;
const LAZY_IMPORT = /\bimport\(()\s*['"]([^'"]+)['"]/g;

function* sources(folder) {
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    const path = join(folder, entry.name);
    if (entry.isDirectory()) yield* sources(path);
    else if (entry.name.endsWith('.ts')) yield path;
  }
}

export function checkFile(path, text, libraryOwners) {
  const found = [];
  const parts = relative(join(root, 'src'), path).split('/');
  const folder = parts[0];
  const isTest = path.endsWith('.test.ts') || parts.includes('testing');
  if (!(folder in LAYERS)) return [`${relative(root, path)}: folder ${folder} is not in the layer table`];
  for (const [, typeOnly, target] of [...text.matchAll(IMPORT), ...text.matchAll(LAZY_IMPORT)]) {
    const complain = (why) => found.push(`${relative(root, path)}: imports ${target}: ${why}`);
    if (target.startsWith('.')) {
      const aim = relative(join(root, 'src'), resolve(dirname(path), target)).split('/');
      if (aim[0] === '..') {
        if (!isTest) complain('outside src');
      } else if (aim[0] !== folder) {
        if (!isTest && !LAYERS[folder].includes(aim[0]))
          complain(`${folder} may import only ${LAYERS[folder].join(', ') || 'nothing'}`);
        if (!isTest && TYPES_ONLY[folder]?.includes(aim[0]) && !typeOnly) complain('types only');
        if (!isTest && (aim.length !== 2 || aim[1] !== 'index.ts')) complain(`use the door ${aim[0]}/index.ts`);
      }
    } else if (!isTest) {
      if (target.startsWith('node:')) {
        if (!NAMES_NODE.includes(folder)) complain('a pure layer names Node');
      } else {
        // one library, one file that names it
        const owner = libraryOwners.get(target);
        if (owner && owner !== path) complain(`library already named by ${relative(root, owner)}`);
        libraryOwners.set(target, path);
      }
    }
  }
  return found;
}

export function checkLayers() {
  const libraryOwners = new Map();
  const found = [];
  for (const path of sources(join(root, 'src')))
    found.push(...checkFile(path, readFileSync(path, 'utf8'), libraryOwners));
  const version = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')).version;
  if (!readFileSync(join(root, 'src/base/version.ts'), 'utf8').includes(`'${version}'`)) {
    found.push(`src/base/version.ts: VERSION is not package.json's ${version}`);
  }
  return found;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const found = checkLayers();
  for (const line of found) console.error(line);
  console.log(found.length ? `layers: ${found.length} violation(s)` : 'layers: in order');
  process.exit(found.length ? 1 : 0);
}
