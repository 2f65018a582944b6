/** The frame around every place of the page: where one can go, what the bay is, and what must not be overlooked. */
import { Banners, Notice } from './banners';
import { Pairing } from './pairing';
import { ROUTES, useRoute } from './routes';
import { Settings } from './settings';
import { useHeard } from './stream';

export function App() {
  const heard = useHeard();
  const { connection, screen } = heard;
  const { route, rest } = useRoute();
  if (connection === 'not paired') return <Pairing />;
  const { Page } = route;
  return (
    <>
      <a class="skip" href="#main">
        To the content
      </a>
      <div class="frame">
        <header class="top">
          <span class="swath" aria-hidden="true" />
          <span class="bay-name">{screen?.bay.name ?? 'Swathplane'}</span>
          {screen?.bay.simulated === true && <span class="tag">simulated shop</span>}
          <Settings />
        </header>
        <nav class="places" aria-label="Places">
          {ROUTES.map(({ hash, title }) => (
            <a href={hash} aria-current={hash === route.hash ? 'page' : undefined}>
              {title}
            </a>
          ))}
        </nav>
      </div>
      <Banners heard={heard} />
      <Notice heard={heard} />
      <main id="main" tabIndex={-1}>
        {screen === undefined ? <p class="quiet">Calling the computer of the bay…</p> : <Page rest={rest} />}
      </main>
    </>
  );
}
