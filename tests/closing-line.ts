/** A reporter that ends the run with minutes per suite and one plain line, `N passed, N failed`. */
import type { Reporter, TestModule, Vitest } from 'vitest/node';

export class ClosingLine implements Reporter {
  private root = '';

  onInit(vitest: Vitest): void {
    this.root = vitest.config.root;
  }

  onTestRunEnd(modules: readonly TestModule[]): void {
    const seconds = new Map<string, number>();
    let [passed, failed, skipped] = [0, 0, 0];
    for (const module of modules) {
      const suite = module.moduleId
        .slice(this.root.length + 1)
        .split('/')
        .slice(0, 2)
        .join('/');
      seconds.set(suite, (seconds.get(suite) ?? 0) + module.diagnostic().duration / 1000);
      for (const test of module.children.allTests()) {
        const state = test.result().state;
        if (state === 'passed') passed += 1;
        else if (state === 'failed') failed += 1;
        else skipped += 1;
      }
      // A file that could not be loaded has no tests to count and has failed all the same.
      if (module.state() === 'failed' && [...module.children.allTests('failed')].length === 0) failed += 1;
    }
    for (const [suite, time] of seconds) console.log(`${suite.padEnd(22)} ${(time / 60).toFixed(2)} min`);
    if (skipped > 0 && process.env.CI !== undefined) {
      console.log(`${skipped} tests were skipped: not allowed here`);
      failed += skipped;
      process.exitCode = 1;
    }
    console.log(`${passed} passed, ${failed} failed`);
  }
}
