/** A machine folder is brought in: chosen as a folder, as files or as a zip, and checked here before anything is sent. */

import { type DragEvent, useRef, useState } from 'react';
import type { MachineEntry, Refusal } from '../../server/index.ts';
import { Frame } from '../frame.tsx';
import { Link } from '../link.tsx';
import { go } from '../router.ts';
import { Findings, findingsWords } from './findings.tsx';
import { type Checked, checked, type FolderFile, filesOfZip, folderOf, zipOf } from './folder.ts';
import './machines.css';

export default function ImportPage() {
  const [found, setFound] = useState<Checked>();
  const [said, say] = useState('');
  const [busy, setBusy] = useState(false);
  const heading = useRef<HTMLHeadingElement>(null);

  const look = async (files: readonly File[]) => {
    if (files.length === 0) return;
    say('Reading');
    try {
      const all = await Promise.all(files.map(filesIn));
      setFound(checked(folderOf(all.flat())));
      say('');
    } catch {
      setFound(undefined);
      say('This is not a zip archive, or it is damaged.');
    }
    requestAnimationFrame(() => heading.current?.focus());
  };
  const bringIn = async () => {
    if (found === undefined || busy) return;
    setBusy(true);
    say('Bringing it in');
    const outcome = await sent(zipOf(found.files));
    setBusy(false);
    if (typeof outcome === 'string') say(`Not brought in: ${outcome}`);
    else go(`/m/${outcome.id}/bench`);
  };
  const drop = (event: DragEvent) => {
    event.preventDefault();
    void look([...event.dataTransfer.files]);
  };
  const errors = found?.findings.some(({ severity }) => severity === 'error') ?? false;

  return (
    <Frame title="Bring in a folder">
      {/* biome-ignore lint/a11y/noStaticElementInteractions: dropping is a short way; the two buttons do the same */}
      <div className="page-body import" onDrop={drop} onDragOver={(event) => event.preventDefault()}>
        <h1>Bring in a machine folder</h1>
        <p className="prose">
          A zip, the files of the folder, or the folder itself: machine.json, the tables, and pictures in
          photographs/. It is looked through here first; nothing is kept until you say so.
        </p>
        <div className="form-end">
          <Pick label="Choose a zip or files" onFiles={look} />
          <Pick label="Choose a folder" folder onFiles={look} />
          <Link to="/" className="button">
            Leave it
          </Link>
        </div>
        <p role="status" className="machines-said">
          {said}
        </p>
        {found !== undefined && (
          <section>
            <h2 ref={heading} tabIndex={-1}>
              {found.name || 'A folder without a name'}: {findingsWords(found.findings)}
            </h2>
            {errors && (
              <p className="prose">
                The errors must be mended in the files first: with them nothing can be computed. Nothing has
                been kept yet.
              </p>
            )}
            <div className="form-end">
              {errors ? null : (
                <button type="button" className="button main" aria-disabled={busy} onClick={bringIn}>
                  Bring it in
                </button>
              )}
            </div>
            {found.findings.length > 0 && <Findings findings={found.findings} />}
            <h3>What is in it</h3>
            <ul className="kept">
              {found.kept.map(({ file, words }) => (
                <li key={file}>
                  <span>{file}</span> <span className="label">{words}</span>
                </li>
              ))}
            </ul>
          </section>
        )}
      </div>
    </Frame>
  );
}

function Pick({
  label,
  folder = false,
  onFiles,
}: {
  readonly label: string;
  readonly folder?: boolean;
  readonly onFiles: (files: readonly File[]) => void;
}) {
  const input = useRef<HTMLInputElement>(null);
  return (
    <>
      <button
        type="button"
        className={`button ${folder ? '' : 'main'}`}
        onClick={() => input.current?.click()}
      >
        {label}
      </button>
      <input
        ref={input}
        type="file"
        hidden
        multiple
        aria-label={label}
        {...(folder ? { webkitdirectory: '' } : { accept: '.zip,.json,.csv,.png,.jpg,.jpeg,.webp' })}
        onChange={({ target }) => {
          onFiles([...(target.files ?? [])]);
          target.value = '';
        }}
      />
    </>
  );
}

async function filesIn(file: File): Promise<FolderFile[]> {
  const bytes = new Uint8Array(await file.arrayBuffer());
  return /\.zip$/i.test(file.name)
    ? filesOfZip(bytes)
    : [{ name: file.webkitRelativePath || file.name, bytes }];
}

/** @returns  the machine, or why it was refused */
async function sent(zip: Uint8Array<ArrayBuffer>): Promise<MachineEntry | string> {
  try {
    const response = await fetch('/api/machines/import', {
      method: 'POST',
      headers: { 'content-type': 'application/zip' },
      body: zip,
    });
    const body: unknown = await response.json();
    return response.ok ? (body as MachineEntry) : (body as Refusal).error.message;
  } catch {
    return 'Sisterboard does not answer. Is it still running in its terminal?';
  }
}
