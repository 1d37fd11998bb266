// A TypeScript module with all it imports as one file that Node or a page can run.
import { rolldown } from 'rolldown';

/** @param {'es' | 'iife'} format @param {'node' | 'browser'} platform @returns {Promise<string>} its text, also written to `file` */
export async function bundle(input, file, format = 'es', platform = 'node') {
  const build = await rolldown({ input, platform, logLevel: 'warn' });
  const { output } = await build.write({ file, format });
  await build.close();
  return output[0].code;
}
