/**
 * The call or the input is wrong, and the message says where and what belongs there. It is no fault of the program: the
 * command line ends with 2, the server answers with a refusal.
 */
export class InputError extends Error {
  /** Stable, for whoever wants to explain it in other words. */
  readonly code: string;

  constructor(code: string, message: string) {
    super(message);
    this.name = 'InputError';
    this.code = code;
  }
}

/** The system's reason for refusing a file, in words; its own text for one that is not listed. */
export function systemReason(error: unknown): string {
  const { code, message } = error as NodeJS.ErrnoException;
  return (code && REASONS[code]) || message;
}

const REASONS: Readonly<Record<string, string>> = {
  ENOENT: 'it is not there',
  ENOTDIR: 'a part of the path is a file, not a folder',
  EACCES: 'you are not allowed to',
  EPERM: 'you are not allowed to',
  EROFS: 'the disk is read-only',
  ENOSPC: 'the disk is full',
  EDQUOT: 'your share of the disk is used up',
  EMFILE: 'too many files are open',
  EIO: 'the disk reports an error',
  ENAMETOOLONG: 'the name is too long',
  ELOOP: 'its links lead round in a circle',
};
