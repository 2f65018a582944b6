/** Where the page begins. */
import { render } from 'preact';
import { App } from './app';
import './page.css';
import './drawings/drawings.css';
import './job/job.css';
import { listen } from './stream';

listen();
render(<App />, document.body);
