/** The usual cautions, shown before any measuring and printed with every record. Common practice, no source. */
export const CAUTIONS: readonly string[] = [
  'Engine off, key out and in your pocket. Spark-plug wire off or battery isolated, as the manual says; on a high-voltage battery machine isolate it and wait.',
  'Parking brake on, wheels chocked, blades at a standstill. Cut-resistant gloves on.',
  'Turning one blade can turn the others: no hand and no second fixture near another blade. Blades that a belt keeps in time are never forced.',
  'Never a hand under a machine that only a jack holds. Block the deck before you loosen a hanger: it drops, spring levers kick, a deck held by oil sinks.',
  'Do not look into the laser (class 2). Its tilt cut-off is a convenience; its class is the protection.',
  'Replace a bent blade. Never straighten it, never fit it upside down.',
  'A fixture left on a blade flies off at start-up. The job closes only with a reading on the height master.',
  "The maker's manual, local rules and licensed practice come first where they differ from this tool.",
];
