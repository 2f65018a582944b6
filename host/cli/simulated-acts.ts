/** What an event of a job means for a simulated shop: the same whether it happens now or is made up for after a restart. */
import type { JobEvent, StepTarget } from '../ledger/events';
import type { Shop } from '../simulation/shop';

/** Lets the simulated technician do what each event says was done, one after the other. */
export function actsIn({ technician }: Shop): (event: JobEvent) => void {
  let placement = 0;
  const bring = (target: StepTarget) => {
    if (target.kind === 'master') return void technician.putOnMaster(target.edge);
    if (target.kind === 'watch' && target.when === 'end') return void technician.pressDown();
    if (target.placement !== placement) technician.clampOn(target.spindle, target.end);
    placement = target.placement;
    technician.turnBladeTo(target.headingDeg);
  };
  return (event) => {
    switch (event.type) {
      case 'step asked':
        return bring(event.target);
      case 'wheels shimmed':
        if (event.shim !== 'none') technician.shimWheel(event.shim.wheel, event.shim.heightMm);
        return;
      case 'deck seated':
        return void technician.seatDeck();
      case 'taken up':
        return void technician.takeUpByFeel(event.hanger);
      case 'turned':
        return void technician.turn(event.adjuster, event.turns);
      case 'tightened':
        return void technician.tighten();
      case 'pushed and pulled':
        if (event.highMm !== undefined) technician.pushAndPull();
        return;
      case 'blade refitted':
        if (event.answer === 'not now') return;
        technician.takeOff();
        return void technician.refitBladeHalfTurn(event.spindle);
      case 'blade swapped':
        if (event.answer === 'not now') return;
        technician.takeOff();
        return void technician.replacePart(event.spindle, 'blade');
      case 'part decided':
        if (event.answer === 'not now') return;
        technician.takeOff();
        return void technician.replacePart(event.spindle, event.part);
      default:
        return;
    }
  };
}
