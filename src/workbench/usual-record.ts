import { homedir } from 'node:os';
import { isAbsolute, join } from 'node:path';

/**
 * Where a person's record is, when nothing else is said: in the folder of what programs keep for good. `XDG_DATA_HOME` where it is
 * set to an absolute path, else the platform's.
 *
 * @returns an absolute path, which need not exist
 * @source XDG Base Directory Specification 0.8; for macOS and Windows the folders that these systems name (from memory)
 */
export function usualRecord(
  env: Readonly<Record<string, string | undefined>> = process.env,
  platform: string = process.platform,
  home: string = homedir(),
): string {
  return join(dataFolder(env, platform, home), 'record.sisterboard');
}

function dataFolder(
  env: Readonly<Record<string, string | undefined>>,
  platform: string,
  home: string,
): string {
  const xdg = env.XDG_DATA_HOME;
  if (xdg && isAbsolute(xdg)) return join(xdg, 'sisterboard');
  if (platform === 'darwin') return join(home, 'Library', 'Application Support', 'sisterboard');
  if (platform === 'win32') return join(env.LOCALAPPDATA || join(home, 'AppData', 'Local'), 'sisterboard');
  return join(home, '.local', 'share', 'sisterboard');
}
