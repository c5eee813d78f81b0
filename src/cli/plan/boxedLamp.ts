import { PaintstopError, printable } from '../../errors.js';
import { strengthLearned, type KitLamp } from '../../pipeline/learnLamps.js';
import type { BoxedLamp } from '../../pipeline/planLamps.js';

/** A lamp whose strength is in the kit. */
export type NamedLamp = Pick<BoxedLamp, 'name' | 'kind' | 'distanceM' | 'power'> & { readonly light: null };

const BOXED =
  /^([^:@*\s][^:@*]{0,39})(?::(?:(\d+(?:\.\d+)?)lm\/(\d+(?:\.\d+)?)deg|beam(\d+(?:\.\d+)?)m))?@(\d+(?:\.\d+)?)m(?:\*(\d+(?:\.\d+)?))?$/;

/** `torch:120lm/60deg@6m*0.5` or `torch:beam90m@6m`: what is printed on the box, and how far off it is used; `torch@6m`: from the kit. */
export function parseBoxed(option: string, kind: BoxedLamp['kind'], text: string): BoxedLamp | NamedLamp {
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
      'write it like torch:120lm/60deg@6m*0.5 (lumens, full angle of the beam, metres, part of full power) or torch:beam90m@6m (the beam distance of the FL 1 mark), or torch@6m once frames have shown how strong it is',
    );
  const use = { name: name.trim(), kind, distanceM: Number(distance), power: Number(power ?? 1) };
  if (lumens === undefined && beam === undefined) return { ...use, light: null };
  return {
    ...use,
    light:
      beam === undefined ? { lumens: Number(lumens), fullAngleDeg: Number(angle) } : { beamDistanceM: Number(beam) },
  };
}

/** Lamps told by name alone, with what the kit knows of them. Throws PaintstopError where it knows nothing. */
export function withKit(lamps: readonly (BoxedLamp | NamedLamp)[], kit: readonly KitLamp[]): BoxedLamp[] {
  return lamps.map((lamp) => {
    if (lamp.light !== null) return lamp;
    const known = kit.find(({ name, kind }) => name === lamp.name && kind === lamp.kind);
    if (known === undefined)
      throw new PaintstopError(
        'wrong-use',
        `How strong ${printable(lamp.name)} is has not been learned yet`,
        `write what is on its box, like ${printable(lamp.name)}:120lm/60deg@6m; frames lit by it alone, with its distance noted, teach it (paintstop lights --kit)`,
      );
    return { ...lamp, light: strengthLearned(known) };
  });
}
