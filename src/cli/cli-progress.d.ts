/** What is used of the package, which comes without types. */
declare module 'cli-progress' {
  type Payload = Readonly<Record<string, string>>;
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
    });
    start(total: number, startValue: number, payload: Payload): void;
    update(value: number, payload: Payload): void;
    stop(): void;
  }
  const cliProgress: { SingleBar: typeof SingleBar };
  export default cliProgress;
}
