/** The key that signs a log: shown, changed, replaced where it was lost. */
import { openLedger } from '../ledger/ledger';
import { fingerprintOf, keyPathOf, openToOthers } from '../ledger/keys';
import { shortForm } from '../views/seal-view';
import { print, printJson } from './output';
import { reading, writing } from './with-log';

export interface KeysOptions {
  readonly log: string;
  readonly bay: string;
  readonly change?: string;
  readonly lost?: string;
  readonly json?: boolean;
}

export function keys(options: KeysOptions): Promise<number> {
  if (options.lost !== undefined)
    openLedger(options.log, {
      writer: options.bay,
      now: () => new Date(),
      keyLost: options.lost,
    }).close();
  else if (options.change !== undefined) {
    const reason = options.change;
    writing(options, (ledger) => ledger.changeKey(reason));
  }
  const known = reading(options, (ledger) =>
    ledger.shopEvents().flatMap((event) => {
      if (event.type === 'key made') return [{ publicKey: event.publicKey, vouched: true, reason: '' }];
      if (event.type !== 'key changed') return [];
      return [{ publicKey: event.publicKey, vouched: event.lost !== true, reason: event.reason }];
    }),
  );
  const shown = known.map((key) => {
    const fingerprint = fingerprintOf(key.publicKey);
    return { ...key, fingerprint, short: shortForm(fingerprint) };
  });
  const isOpen = isOpenToOthers(options.log);
  if (options.json === true)
    printJson({ keys: shown, keyFile: keyPathOf(options.log), openToOthers: isOpen });
  else {
    print(
      ...shown.map((key, i) =>
        [
          i === shown.length - 1 ? 'signs now:  ' : 'signed once:',
          `${key.short}   (${key.fingerprint})`,
          ...(key.vouched ? [] : ['NOT VOUCHED FOR: the key before it was lost']),
          ...(key.reason === '' ? [] : [`since: ${key.reason}`]),
        ].join('  '),
      ),
      `The private key is in ${keyPathOf(options.log)}: whoever can copy that file can sign as this bay.`,
    );
    if (isOpen)
      print(
        'OTHERS MAY READ IT: take their right away (chmod 600), then change the key with `swathplane keys --change`.',
      );
  }
  return Promise.resolve(0);
}

/** Undefined where the key file is not at hand. */
function isOpenToOthers(log: string): boolean | undefined {
  try {
    return openToOthers(log);
  } catch {
    return undefined;
  }
}
