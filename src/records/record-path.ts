import { homedir } from 'node:os';
import { isAbsolute, join } from 'node:path';

const FILE = 'record.sisterboard';

/**
 * Where a person's record lies when no other one is named: `SISTERBOARD_RECORD`, else a file in `XDG_DATA_HOME` where that is
 * set to an absolute path, else in the platform's folder for data.
 *
 * @returns a path, which need not exist
 * @source XDG Base Directory Specification 0.8; for macOS and Windows the folders that these systems name (from memory)
 */
export function usualRecordPath(
  env: Readonly<Record<string, string | undefined>> = process.env,
  platform: string = process.platform,
  home: string = homedir(),
): string {
  if (env.SISTERBOARD_RECORD) return env.SISTERBOARD_RECORD;
  const xdg = env.XDG_DATA_HOME;
  if (xdg && isAbsolute(xdg)) return join(xdg, 'sisterboard', FILE);
  if (platform === 'darwin') return join(home, 'Library', 'Application Support', 'sisterboard', FILE);
  if (platform === 'win32')
    return join(env.LOCALAPPDATA || join(home, 'AppData', 'Local'), 'sisterboard', FILE);
  return join(home, '.local', 'share', 'sisterboard', FILE);
}
