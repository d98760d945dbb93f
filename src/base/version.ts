// The product's name and version as reports state them. scripts/check-layers compares it with package.json.
export const PRODUCT = 'tapeproof';
export const VERSION = '0.1.0';
