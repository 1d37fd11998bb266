// Worker of recordings.
import * as Comlink from 'comlink';
import { RecordingKeeper } from './recording-keeper.ts';

export type Recordings = RecordingKeeper;
Comlink.expose(new RecordingKeeper());
