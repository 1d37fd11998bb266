import { realpathSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import { blind, blindHelp } from './blind.ts';
import { check, checkHelp } from './check.ts';
import { installCompiledCode } from './compiled-code.ts';
import { demonstrate, demonstrateHelp } from './demonstrate.ts';
import { exitCodes, InputFailure, inputSentence } from './failure.ts';
import { interfaceHelp, interfaceOf } from './interface.ts';
import { joints, jointsHelp } from './joints.ts';
import { match, matchHelp } from './match.ts';
import { measure, measureHelp } from './measure.ts';
import { plain } from './plain.ts';
import { program, programHelp } from './program.ts';
import { ready, readyHelp } from './ready.ts';
import { render, renderHelp } from './render.ts';
import { report, reportHelp } from './report.ts';
import { response, responseHelp } from './response.ts';
import { sittings, sittingsHelp } from './sittings.ts';
import { sweep, sweepHelp, sweepHelpFor } from './sweep.ts';
import { ticket, ticketHelp } from './ticket.ts';
import { why, whyHelp } from './why.ts';

interface Verb {
  readonly help: string;
  /** Where it depends on the words that follow. */
  helpFor?(args: readonly string[]): string;
  /** Returns the exit code. */
  run(args: readonly string[]): Promise<number>;
}

const verbs: Readonly<Record<string, Verb>> = {
  measure: { help: measureHelp, run: measure },
  response: { help: responseHelp, run: response },
  sweep: { help: sweepHelp, helpFor: sweepHelpFor, run: sweep },
  why: { help: whyHelp, run: why },
  program: { help: programHelp, run: program },
  render: { help: renderHelp, run: render },
  match: { help: matchHelp, run: match },
  check: { help: checkHelp, run: check },
  demonstrate: { help: demonstrateHelp, run: demonstrate },
  report: { help: reportHelp, run: report },
  ticket: { help: ticketHelp, run: ticket },
  ready: { help: readyHelp, run: ready },
  joints: { help: jointsHelp, run: joints },
  interface: { help: interfaceHelp, run: interfaceOf },
  blind: { help: blindHelp, run: blind },
  sittings: { help: sittingsHelp, run: sittings },
};

const generalHelp = `stagebench: listen to and measure analogue audio stages

${Object.values(verbs).map(({ help }) => `  ${help.split('\n')[0]}`).join('\n')}

stagebench VERB --help says more. Exit codes: 0 good, 1 a check failed, 2 bad input.
`;

/** The command line: words in, exit code out. Every failure of the input is one sentence on stderr. */
export async function main(args: readonly string[]): Promise<number> {
  const [name, ...rest] = args;
  try {
    if (name === 'help') return await main([...rest, '--help']);
    if (name === undefined || name === '--help') {
      process.stdout.write(generalHelp);
      return name === undefined ? exitCodes.badInput : exitCodes.good;
    }
    if (!Object.hasOwn(verbs, name)) throw new InputFailure(`expected one of ${Object.keys(verbs).join(', ')}, got ${name}; see stagebench --help`);
    const verb = verbs[name]!;
    if (rest.includes('--help')) {
      process.stdout.write(`${verb.helpFor?.(rest) ?? verb.help}\n`);
      return exitCodes.good;
    }
    const lack = installCompiledCode();
    if (lack !== null) process.stderr.write(`stagebench: this Node has ${lack}: the solver runs as plain loops, to the same bits but several times slower\n`);
    return await verb.run(rest);
  } catch (error) {
    const sentence = inputSentence(error);
    if (sentence === null) throw error;
    process.stderr.write(`stagebench: ${plain(sentence)}\n`);
    return exitCodes.badInput;
  }
}

// Whoever reads what is printed may leave before its end: what is printed goes nowhere then, and work and exit code stay what they are.
for (const stream of [process.stdout, process.stderr]) {
  stream.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code !== 'EPIPE') throw error;
  });
}

// Started by its own name, as a program and not as a module of one.
const started = process.argv[1];
if (started !== undefined && import.meta.url === pathToFileURL(realpathSync(started)).href) process.exitCode = await main(process.argv.slice(2));
