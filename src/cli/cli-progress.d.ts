/** What is used of the package, which comes without types. */
declare module 'cli-progress' {
  export class SingleBar {
    constructor(options: {
      stream: NodeJS.WritableStream;
      format: string;
      barCompleteChar: string;
      barIncompleteChar: string;
      barsize: number;
      clearOnComplete: boolean;
      hideCursor: boolean;
      gracefulExit: boolean;
      etaBuffer: number;
    });
    start(total: number, startValue: number): void;
    update(value: number): void;
    stop(): void;
  }
  const cliProgress: { SingleBar: typeof SingleBar };
  export default cliProgress;
}
