/** Text of that module bundled into one classic script; see `script-text.ts`. */
declare module '*?script-text' {
  const script: string;
  export default script;
}
