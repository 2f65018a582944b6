/** Events about the record itself: of a job's record, and of the log that holds it. FORMAT.md says them in prose. */

/** What concerns a job's record and not its machine: the procedure passes it over, and it may be written at any time. */
export type RecordEvent =
  | {
      /** Which program decides from here on: SHA-256 of its text, which the log keeps once, and what runs it. */
      readonly type: 'solver known';
      readonly job: number;
      readonly sha256: string;
      readonly engine: string;
    }
  /** A fixture started anew in the middle of the job: its captures from here on are of this start. */
  | {
      readonly type: 'fixture restarted';
      readonly job: number;
      readonly fixtureId: string;
      readonly bootCount: number;
    }
  /** Names a person: the text stands beside the chain, its salted hash in the chain (FORMAT.md). */
  | {
      readonly type: 'customer stated';
      readonly job: number;
      readonly field: CustomerField;
      readonly text: string;
    }
  | {
      /** The file stands beside the log under its SHA-256. */
      readonly type: 'photo attached';
      readonly job: number;
      readonly sha256: string;
      readonly kind: 'jpeg' | 'png';
      readonly bytes: number;
      readonly by: string;
    }
  | {
      /** Texts (by their salted hash) and photos (by their hash) that were deleted; the rest of the record stands. */
      readonly type: 'deleted';
      readonly job: number;
      readonly what: 'customer' | 'complaint' | 'photos';
      readonly sha256s: readonly string[];
      readonly by: string;
      readonly reason: string;
    };

export type CustomerField = 'name' | 'phone' | 'e-mail' | 'address' | 'note';

/** What happens to the log itself. */
export type LogKeepingEvent =
  /** The first event of a log. Ed25519, 32 bytes as hexadecimal, as in all these. */
  | { readonly type: 'key made'; readonly publicKey: string }
  | {
      /**
       * Signed by the key before, which so vouches for this one; `proof` is this one's signature over the change. Where the
       * key before was lost, it is signed by this one alone and nothing in the log vouches for it.
       */
      readonly type: 'key changed';
      readonly publicKey: string;
      readonly before: string;
      readonly proof: string;
      readonly reason: string;
      readonly lost?: true;
      /** The change comes with a restoration, `log restored` follows: the numbers since this event are left out. */
      readonly restoredFrom?: number;
    }
  /** The wall clock went back by more than the tolerance: from the time of the event before to the time of this one. */
  | { readonly type: 'clock stepped'; readonly from: string; readonly to: string }
  | {
      /**
       * The log was restored from a backup that ended with event `from`. Its own sequence leaves out all numbers that the
       * lost log may have given, and jobs go on with `nextJob`, so that no number is given twice.
       */
      readonly type: 'log restored';
      readonly from: number;
      readonly nextJob: number;
      readonly by: string;
    }
  /** Where the chains of other writers were seen to end: who rebuilds one of them later contradicts this one. */
  | { readonly type: 'heads seen'; readonly heads: readonly SeenHead[] }
  | {
      /** An exported job of another writer, kept whole under the SHA-256 of its file. */
      readonly type: 'job imported';
      readonly sha256: string;
      readonly writer: string;
      readonly foreignJob: number;
      /** The key that sealed it. */
      readonly publicKey: string;
      readonly by: string;
    }
  /** Captures that a fixture gave to other hands: their numbers are missing here and always will be. */
  | { readonly type: 'captures elsewhere'; readonly fixtureId: string; readonly captures: readonly number[] };

export interface SeenHead {
  readonly writer: string;
  readonly sequence: number;
  readonly hash: string;
}
