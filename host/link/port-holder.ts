import { readFile, readdir, readlink, realpath } from 'node:fs/promises';

/**
 * Who has the device open, such as "node (process 4711)", as far as this system tells: Linux does, and only
 * about processes that the user may look into. Undefined when it cannot be found out.
 */
export async function portHolder(path: string): Promise<string | undefined> {
  try {
    const device = await realpath(path);
    for (const process of await numericNames('/proc')) {
      if (await hasOpen(process, device)) return describe(process);
    }
  } catch {
    // Without a process folder nobody can tell, and the caller's error is complete without it.
  }
  return undefined;
}

async function numericNames(folder: string): Promise<string[]> {
  const names = await readdir(folder).catch(() => []);
  return names.filter((name) => /^\d+$/.test(name));
}

async function hasOpen(process: string, device: string): Promise<boolean> {
  const folder = `/proc/${process}/fd`;
  for (const descriptor of await numericNames(folder)) {
    if ((await readlink(`${folder}/${descriptor}`).catch(() => '')) === device) return true;
  }
  return false;
}

async function describe(process: string): Promise<string> {
  const name = (await readFile(`/proc/${process}/comm`, 'utf8').catch(() => '')).trim();
  return `${name === '' ? 'a program' : name} (process ${process})`;
}
