import { PaintstopError, printable } from '../../errors.js';
import type { BoxedLamp } from '../../pipeline/planLamps.js';

const BOXED =
  /^([^:@*\s][^:@*]{0,39}):(?:(\d+(?:\.\d+)?)lm\/(\d+(?:\.\d+)?)deg|beam(\d+(?:\.\d+)?)m)@(\d+(?:\.\d+)?)m(?:\*(\d+(?:\.\d+)?))?$/;

/** `torch:120lm/60deg@6m*0.5` or `torch:beam90m@6m`: what is printed on the box, and how far off it is used. */
export function parseBoxed(option: string, kind: BoxedLamp['kind'], text: string): BoxedLamp {
  const match = BOXED.exec(text);
  const [, name, lumens, angle, beam, distance, power] = match ?? [];
  const values = [lumens, angle, beam, distance, power].filter((own) => own !== undefined).map(Number);
  const sound =
    name !== undefined &&
    printable(name) === name &&
    values.every((value) => value > 0) &&
    Number(angle ?? 1) <= 360 &&
    Number(power ?? 1) <= 1 &&
    Number(distance) <= 1000;
  if (!sound)
    throw new PaintstopError(
      'wrong-use',
      `${option} ${printable(text).slice(0, 60)} is not understood`,
      'write it like torch:120lm/60deg@6m*0.5 (lumens, full angle of the beam, metres, part of full power) or torch:beam90m@6m (the beam distance of the FL 1 mark)',
    );
  return {
    name: name.trim(),
    kind,
    light:
      beam === undefined ? { lumens: Number(lumens), fullAngleDeg: Number(angle) } : { beamDistanceM: Number(beam) },
    distanceM: Number(distance),
    power: Number(power ?? 1),
  };
}
