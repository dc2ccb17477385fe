import { InputError } from './input-error.ts';

// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is refused
const NAME = /^[^/\\:*?"<>|\u0000-\u001f]+$/;
/** A folder of pictures, and one in it. */
const DEEPEST = 3;

/** Refuses a path that leads anywhere but into the machine's own folder, on every system. @throws InputError  `bad-name` */
export function checkPath(path: string): void {
  const steps = path.split('/');
  const plain = steps.length <= DEEPEST && steps.every((step) => NAME.test(step) && !/^\.+$/.test(step));
  if (!plain)
    throw new InputError('bad-name', `${JSON.stringify(path)} is not the name of a file in a machine folder`);
}
