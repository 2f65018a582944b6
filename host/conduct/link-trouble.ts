/** What goes wrong in a link's own events ends the work, not the process: the log cannot be written, for instance. */
export interface LinkTrouble {
  /** Does what an event of the link asks for. What it throws is met, and thrown on to the link. */
  orGiveUp<T>(action: () => T): T;
  /** What is waited for, or a rejection with the first trouble that is met. */
  unlessMet<T>(waited: Promise<T>): Promise<T>;
}

export function linkTrouble(): LinkTrouble {
  let giveUp: (trouble: unknown) => void = () => {};
  const met = new Promise<never>((_, reject) => (giveUp = reject));
  met.catch(() => {});
  return {
    orGiveUp: (action) => {
      try {
        return action();
      } catch (error) {
        giveUp(error);
        throw error;
      }
    },
    unlessMet: (waited) => Promise.race([waited, met]),
  };
}
