#!/usr/bin/env node
// Starts the command line. Only checks the Node version first, in syntax that old versions still parse, and bounds the room for new objects.
const [major, minor] = process.versions.node.split('.').map(Number);
if (major < 22 || (major === 22 && minor < 13)) {
  console.error(
    `tapeproof: needs Node.js 22.13 or newer, found ${process.versions.node}. ` +
      'Install a newer Node.js, or run it through npm: npx -y -p node@24 -p tapeproof tapeproof …',
  );
  process.exit(2);
}
// Samples lie outside the heap, and what else is made lives for a block. Room for objects that grows with the work, for new ones up to 128 MB a
// thread, would only make a long tape need more memory than a short one: that for new objects is 8 MB and stays so (with the usual 1 MB it is
// looked through every few blocks, and what lives for a few more is taken for old), that for older ones is looked through once it has grown by 30 %.
const { setFlagsFromString } = await import('node:v8');
setFlagsFromString('--min-semi-space-size=8');
setFlagsFromString('--semi-space-growth-factor=1');
setFlagsFromString('--heap-growing-percent=30');
const { main } = await import('../dist/cli/main.js');
await main(process.argv.slice(2));
