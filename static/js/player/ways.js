// All ways to look at one film: drawn near, on the whole screen, round and round.

import { createFilling } from "./filling.js";
import { createLooping } from "./looping.js";
import { createNearing } from "./nearing.js";

export function createWays(stage, { player }) {
  createFilling(stage);
  createLooping(stage, { player });
  return createNearing(stage);
}
