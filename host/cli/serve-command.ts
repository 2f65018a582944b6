/** The words of `swathplane serve`. */
import { InvalidArgumentError, type Command } from 'commander';
import type { ServeOptions } from './serve';
import { checklist, database, json, plate, seconds, writer, type Run } from './options';

const portNumber = (text: string) => {
  if (!/^\d{1,5}$/.test(text) || Number(text) > 65535)
    throw new InvalidArgumentError('A port number is wanted.');
  return Number(text);
};
const times = (text: string) => {
  if (!/^\d{1,3}(\.\d+)?$/.test(text) || !(Number(text) > 0))
    throw new InvalidArgumentError('A number above 0 is wanted.');
  return Number(text);
};

export function addServeCommand(program: Command, run: Run): void {
  program
    .command('serve')
    .description('the page: the job on screens beside the mower; a simulated shop unless a port is named')
    .option(
      '--port [path...]',
      'the port that the fixture is on, or two; without a path the only one that is plugged in',
    )
    .option('--page-port <number>', 'where the page answers; 0: any that is free', portNumber, 8118)
    .option('--lan', 'other computers of the network may use the page too, once paired by a code shown here')
    .option('--pace <times>', 'simulated seconds in a second, in a simulated shop', times, 1)
    .addOption(checklist())
    .addOption(plate())
    .addOption(seconds())
    .addOption(writer())
    .option(
      '--log <file>',
      'the log of this bay; left out: records/bay.swathplane-log, of a simulated shop records/simulated/bay.swathplane-log',
    )
    .addOption(database())
    .addOption(json())
    .action(
      async ({
        port,
        log: file,
        ...options
      }: Omit<ServeOptions, 'port' | 'log'> & { port?: string[] | true; log?: string }) =>
        run(async () =>
          (await import('./serve')).serve({
            ...options,
            ...(port === undefined ? {} : { port: port === true ? 'found' : port }),
            log:
              file ??
              (port === undefined ? 'records/simulated/bay.swathplane-log' : 'records/bay.swathplane-log'),
          }),
        ),
    );
}
