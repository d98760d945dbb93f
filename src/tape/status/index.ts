// What the interface says besides samples, for tape/index.ts to pass on.
export {
  decodeStatus,
  type StatusBlock,
  type StatusValue,
  statusTopic,
} from './block.ts';
export type { StatusTopic, StatusUse } from './field.ts';
export {
  BLOCK_FRAMES,
  parseStatusLog,
  type StatusLog,
  type StatusStretch,
  typedStatus,
  type ValidityLog,
} from './status-log.ts';
export { isTypedStatus, parseStatus } from './status-text.ts';
