/** Elements that are not needed for the first sight of the page: fetched at once after it has been drawn, so that nothing is fetched later. */
import './elements/demonstration-panel.ts';
import './elements/draft-row.ts';
import './elements/hand-on-shelf.ts';
import './elements/input-consent.ts';
import './elements/key-card.ts';
import './elements/listening-shelf.ts';
import './elements/match-differences.ts';
import './elements/material-panel.ts';
import './elements/live-input-line.ts';
import './elements/live-input-panel.ts';
import './elements/long-listening-panel.ts';
import './elements/ready-path-list.ts';
import './elements/sitting-sheet.ts';
import './elements/session-log-sheet.ts';
import './elements/ticket-slip.ts';
import './elements/report-sheet.ts';
import './engine/demonstration-file.ts';
