/** Address of a module bundled into one classic script; see `single-file-worklet.ts`. */
declare module '*?single-file-worklet' {
  const address: string;
  export default address;
}
