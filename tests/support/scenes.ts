import { randomScene } from '../../src/scene/randomScene.js';
import { openScene, type Shot } from '../../src/scene/shoot.js';
import type { SceneSpec } from '../../src/scene/spec.js';

/** A small frame of a random scene, for tests that read many. */
export function smallScene(seed: number, changes: Partial<SceneSpec> = {}): SceneSpec {
  return { ...randomScene(seed, { widthPx: 1008, heightPx: 672 }), ...changes };
}

export function shoot(spec: SceneSpec): Shot {
  return openScene(spec).shoot(spec.settings, spec.lamps);
}
