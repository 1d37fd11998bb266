/** The bundled typefaces (SIL Open Font Licence): Greek first, so that Latin, declared last, is tried first and Greek loads only where it is needed. */
import '@fontsource/source-sans-3/greek-400.css';
import '@fontsource/source-sans-3/greek-600.css';
import '@fontsource/stix-two-text/greek-400-italic.css';
import '@fontsource/source-sans-3/latin-400.css';
import '@fontsource/source-sans-3/latin-400-italic.css';
import '@fontsource/source-sans-3/latin-600.css';
import '@fontsource/stix-two-text/latin-400-italic.css';
import '@fontsource/stix-two-text/latin-600.css';
