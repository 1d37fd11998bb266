/** Before each file of node tests, which share a thread: nothing compiled is left over from the file before. */
import { installWebAssembly } from '../../dsp/webassembly/index.ts';

installWebAssembly(null);
