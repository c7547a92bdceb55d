// Writes docs/vocabulary.md from the labels: each in every language, with where it stands and whose word it is; and
// docs/languages.md, for those who review a language. A test fails when a label is missing. Run with `npm run vocabulary` after a label was added or changed.
import { readFileSync, readdirSync, writeFileSync } from 'node:fs';

const LANGUAGES = ['en', 'es', 'fr', 'pt'];
/** A catalogue's labels by key, in its order. */
const catalogue = (language) => {
  const source = ['', 'review/'].map((section) => readFileSync(new URL(`./src/text/${section}${language}.ts`, import.meta.url), 'utf8')).join('\n');
  return new Map([...source.matchAll(/^ {2}'?([\w.]+)'?:\s*'((?:[^'\\]|\\.)*)'/gm)].map(([, key, label]) => [key, label]));
};
const [labels, ...translated] = LANGUAGES.map(catalogue);
const cell = (text) => text.replaceAll('|', '\\|');

/** Where the labels of a group stand. */
const WHERE = {
  app: 'every page', role: 'role tabs, leader’s roles, pairing', hands: 'hands line', clock: 'strip below the hands line',
  link: 'strip below the hands line, start page', saved: 'strip below the hands line', task: 'main task',
  urgency: 'main task, head', do: 'main task, instruction', short: '“then …” line, leader’s team', tap: 'buttons, undo bar, record',
  early: 'drugs: main button, standing line', rhythm: 'rhythm buttons, record', pulse: 'pulse buttons, record',
  reason: 'reason of a pause', by: 'compressions by', position: 'pads', site: 'pulse site', route: 'route', airway: 'airway',
  outcome: 'closing a code', age: 'start page', phase: 'start page', source: 'record', drug: 'drugs', dose: 'main task, below',
  drugline: 'drugs: standing line', cause: 'causes', ask: 'questions', yes: 'questions', no: 'questions',
  abort: 'shock not given', vital: 'vital sign', weight_basis: 'weight', leader: 'leader', prior: 'care before arrival',
  compressor: 'compressor', energy: 'defibrillator', timeline: 'record', void: 'striking out', amend: 'record', undo: 'undo bar', refusal: 'news, pairing page',
  circumstance: 'patient panel, start page, chips', patient: 'patient panel, line below the clock', weight: 'line below the clock, patient panel', note: 'notes beside the tasks',
  target: 'after ROSC', unit: 'doses', move: 'leader’s roles, line below the clock', detail: 'questions', temp_site: 'temperature', sex: 'patient panel', shock: 'main task, below', pad: 'number pad', protocol_reason: 'change of protocol',
  device: 'this device: start page, pairing page, end of each role’s panel', leave: 'end of each role’s panel', refused: 'news', sound: 'strip below the hands line, settings of a device', say: 'spoken', installed: 'settings of a device', awake: 'settings of a device', battery: 'leader’s roles, leader’s picture', home: 'start page', pair: 'pairing page', review: 'review page',
};
/** Groups whose words are the trade's. */
const TRADE = new Set(['role', 'rhythm', 'pulse', 'reason', 'by', 'site', 'route', 'airway', 'drug', 'cause', 'vital', 'age', 'tap', 'weight_basis', 'circumstance', 'temp_site', 'detail', 'shock', 'unit']);
/** Single labels that differ from their group. */
const OF = {
  'circumstance.on': 'ours', 'circumstance.off': 'ours', 'circumstance.treatment_limit': 'ours', 'detail.age_group': 'ours',
  'sex.female': 'standard (Utstein reporting: sex)', 'sex.male': 'standard (Utstein reporting: sex)', 'sex.unknown': 'standard (Utstein reporting: sex)',
  'patient.gestation': 'trade', 'patient.core_temp': 'trade', 'patient.temperature': 'trade', 'target.title': 'trade', 'weight.basis.length': 'trade', 'weight.basis.measured': 'trade', 'weight.basis.age': 'trade',
  'tap.weight_use': 'ours', 'tap.both_given': 'ours', 'tap.one_given': 'ours', 'tap.holds': 'ours', 'tap.holds_not': 'ours', 'tap.device_on': 'ours', 'tap.device_off': 'ours', 'tap.keep_protocol': 'ours', 'tap.use_protocol': 'ours', 'tap.other_protocol': 'ours', 'tap.roles_right': 'ours', 'tap.roles_change': 'ours', 'tap.flow_carries': 'ours', 'tap.weight_right': 'ours', 'tap.limits_seen': 'ours', 'tap.to_ending': 'ours', 'tap.goes_on': 'ours', 'tap.pads_moved': 'ours', 'hands.compress': 'trade', 'hands.clear': 'trade', 'hands.pause': 'trade', 'hands.none_rosc': 'trade', 'hands.rosc.more': 'trade',
  'role.none': 'ours', 'role.choose': 'ours', 'role.for_unheld': 'ours', 'role.relief': 'ours (the next compressor)',
  'rhythm.perfusing': 'trade (an organised rhythm; the wire calls it perfusing)', 'rhythm.unknown': 'ours', 'rhythm.bradycardia.more': 'ours', 'rhythm.perfusing.more': 'ours',
  'pulse.not_checked': 'ours', 'phase.arrest': 'trade', 'phase.rosc': 'trade', 'airway.breathe': 'trade', 'airway.pacer': 'ours',
  'tap.voided': 'ours', 'tap.amended': 'ours', 'tap.task_done': 'ours', 'tap.said_it': 'ours', 'tap.more': 'ours', 'tap.clock_corrected': 'ours', 'tap.reviewed': 'ours',
  'tap.pause_reason': 'ours', 'tap.pulse_finger_placed': 'ours', 'tap.role_assigned': 'ours', 'tap.role_released': 'ours', 'tap.device_left': 'ours', 'tap.pulse_duty_given': 'ours', 'leader.pulse_duty': 'ours', 'tap.clock_started': 'ours',
  'tap.code_opened': 'ours', 'tap.protocol_changed': 'ours', 'tap.circumstance_set': 'ours', 'tap.prior_care_reported': 'ours', 'tap.patient_updated': 'ours',
  'tap.shock_aborted': 'ours', 'tap.give_other': 'ours', 'tap.causes_done': 'ours', 'tap.no_compress': 'ours', 'tap.not_this': 'ours',
  'urgency.high': 'ours, for a priority of IEC 60601-1-8', 'urgency.medium': 'ours, for a priority of IEC 60601-1-8', 'urgency.low': 'ours, for a priority of IEC 60601-1-8', 'urgency.none': 'ours',
  'outcome.survived_event': 'standard (Utstein reporting: survived event)', 'outcome.died': 'trade', 'outcome.transferred': 'trade', 'outcome.treatment_limit': 'trade', 'outcome.ecmo': 'trade', 'outcome.not_an_arrest': 'ours',
  'position.anterolateral': 'ours, for anterolateral', 'position.anteroposterior': 'ours, for anteroposterior',
  'do.start_compressions': 'trade', 'do.attach_pads': 'trade', 'do.call_all_clear': 'trade', 'do.give_shock': 'trade', 'do.dump_charge': 'trade', 'do.gain_access': 'trade', 'do.draw_up': 'trade', 'do.give_drug': 'trade', 'do.read_etco2': 'trade',
  'leader.shocks': 'trade', 'leader.causes': 'trade (reversible causes)', 'leader.look': 'trade', 'leader.check': 'trade', 'leader.pause': 'trade', 'leader.fraction': 'ours, for the compression fraction',
  'drugline.next': 'trade', 'say.compress': 'trade', 'say.clear': 'trade', 'say.pause': 'trade', 'say.drug_due': 'trade', 'ask.mmhg': 'trade', 'dose.flush': 'trade', 'energy.title': 'trade', 'energy.joules': 'standard (SI)', 'abort.rhythm_changed': 'trade', 'app.drill': 'trade',
  'review.title': 'trade', 'review.codes': 'trade', 'review.code': 'trade', 'review.protocol': 'trade', 'review.outcome': 'trade', 'review.lane.compressions': 'trade', 'review.lane.rhythm': 'trade', 'review.lane.shocks': 'trade', 'review.lane.drugs': 'trade', 'review.lane.airway': 'trade', 'review.lane.etco2': 'trade', 'review.pre_shock': 'trade', 'review.post_shock': 'trade', 'review.peri_shock': 'trade', 'review.pauses': 'trade', 'review.target.compression_fraction': 'trade', 'review.target.pre_shock_pauses': 'trade', 'review.target.peri_shock_pauses': 'trade', 'review.target.first_shock': 'trade', 'review.target.first_epinephrine': 'trade', 'review.target.epinephrine_intervals': 'trade', 'review.figure.no_flow': 'trade', 'review.figure.low_flow': 'trade', 'review.figure.first_rhythm': 'trade', 'review.figure.first_access': 'trade', 'review.figure.shocks': 'trade', 'review.part.debrief': 'trade', 'review.figures': 'trade', 'review.targets': 'trade', 'review.went_well': 'trade', 'review.to_change': 'trade', 'review.training': 'trade',
  'review.seconds': 'standard (SI)', 'review.minutes': 'standard (SI)', 'review.head': 'standard (SHA-256)',
};

const rows = [...labels].filter(([, label]) => label !== '').map(([key, label]) => {
  const group = key.split('.')[0];
  const of = OF[key] ?? (TRADE.has(group) ? 'trade' : 'ours');
  return `| ${[label, ...translated.map((words) => words.get(key) ?? '')].map(cell).join(' | ')} | ${WHERE[group] ?? group} | ${of} | \`${key}\` |`;
});
/** Labels of the page that helps a tablet to trust the server: its heading, its actions, and systems by their own names. */
const [helping, ...helped] = LANGUAGES.map((language) => {
  const page = readFileSync(new URL(`../server/src/web/trust/${language}.html`, import.meta.url), 'utf8');
  return [...page.matchAll(/<(h1|summary|a|button)\b[^>]*>([^<{]+?)(?:\{\{.*?)?</g)].map(([, tag, label]) => ({ tag, label: label.trim() }));
});
const helpingRows = helping.map(({ tag, label }, place) => `| ${[label, ...helped.map((page) => page[place]?.label ?? '')].join(' | ')} | page without TLS | ${tag === 'summary' ? 'a system’s or browser’s own name' : 'ours'} | \`trust\` |`);
/** Titles in the protocol files, which reach the screens as they stand there: tasks, targets, causes, circumstances. */
const PROTOCOLS = new URL('../server/protocols/', import.meta.url);
const files = readdirSync(PROTOCOLS).filter((name) => name.endsWith('.toml')).sort();
const titles = files.flatMap((name) => [...readFileSync(new URL(name, PROTOCOLS), 'utf8').matchAll(/\btitle = "([^"]*)"/g)].map(([, title]) => title));
/** What the other languages make of a title. */
const said = LANGUAGES.slice(1).map((language) => {
  const source = readFileSync(new URL(`./src/text/sentences/${language}.ts`, import.meta.url), 'utf8');
  return new Map([...source.matchAll(/^ {2}'((?:[^'\\]|\\.)*)':\s*'((?:[^'\\]|\\.)*)'/gm)].map(([, english, words]) => [english, words]));
});
const fromProtocols = [...new Set(titles)].map((title) => `| ${[title, ...said.map((words) => words.get(title) ?? '')].map(cell).join(' | ')} | wherever its task, target, cause or circumstance shows | trade, as the protocol file words it | \`title\` |`);
const text = `# Vocabulary

Every label that a user meets, where it stands, and whose word it is: the **trade**'s (what teams and published guidelines
say), a **standard**'s, or **ours**. Nothing is taken from an existing program for this job. Written by
\`npm run vocabulary\` from the catalogues in \`client-web/src/text/\` (ICU messages: \`{…}\` is filled in on the screen), the protocol files and the
page without TLS. What a reviewer of a language should look at stands in [languages.md](languages.md).

## Colours and shapes
| sign | meaning | whose |
| --- | --- | --- |
| red, flashing at 2 Hz, triangle | high priority: act at once | IEC 60601-1-8 (colour and flash); the shape is ours |
| yellow, flashing at 0.6 Hz, diamond | medium priority: due | IEC 60601-1-8 (colour and flash); the shape is ours |
| cyan, steady, disc | low priority: get ready | IEC 60601-1-8 (colour); the shape is ours |
| grey, ring | routine, ahead | ours |
| arrow down / two bars / octagon with a bar between white edges / cross | compress / pause / clear / no link | ours |
| two arrows head on / barred circle / square with a question mark / waves / letter i | conflict / withheld / check / assumed / information | ours |
| tick / diamond with an exclamation mark / disc / ring | a target: within / outside / done / open | ours |
| ≈ and a dashed underline | an estimated weight | ours |
| dashed yellow edge | early, not sent yet, no link, or not heard | ours |

The flash rates and priorities are recorded in the clinical sources as from memory (H40 to H42).

## Labels
| English | Spanish | French | Portuguese | where | whose | key |
| --- | --- | --- | --- | --- | --- | --- |
${[...rows, ...fromProtocols, ...helpingRows].join('\n')}
`;
writeFileSync(new URL('../docs/vocabulary.md', import.meta.url), text);

const { sources, abbreviations, portugal, review } = JSON.parse(readFileSync(new URL('./src/text/abbreviations.json', import.meta.url), 'utf8'));
const table = (head, lines) => [`| ${head.join(' | ')} |`, `| ${head.map(() => '---').join(' | ')} |`, ...lines.map((line) => `| ${line.join(' | ')} |`)].join('\n');
const languages = `# Languages

The screens speak English, Spanish, French and Portuguese; each device chooses, in **This device**, and may change while a code
runs. Every message stands in \`client-web/src/text/\` (ICU MessageFormat), all four side by side in [vocabulary.md](vocabulary.md).
Numbers follow the language, and the browser's region of it: \`0.5\` or \`0,5\`, never a zero at the end, never one missing before
the mark, no mark between thousands.

**State: written for this project and not yet read by a clinician who works in the language.** A department has every screen
read by one before it relies on them. This page says where to look first. Written by \`npm run vocabulary\`.

## Clinical abbreviations
A source is the guideline of that language that has the abbreviation; where none is known to us, it is for review.

${table(['language', 'abbreviation', 'stands for', 'English', 'source'], abbreviations.map((one) => [one.language, one.short, one.long, one.english, one.source ?? '**for review**']))}

${Object.entries(sources).map(([name, text]) => `- **${name}**: ${text}`).join('\n')}

## Words to review
${table(['language', 'shown', 'English', 'why'], review.map((one) => [one.language, one.shown, one.english, one.why]))}

## Portuguese: Brazil and Portugal
Words that both countries share come first; where they differ, Brazil's spelling is shown.

${table(['shown', 'in Portugal'], portugal.map((one) => [one.shown, one.there]))}

## Sentences that come from the server
The engine knows no language. It composes each sentence once, in English, and a screen says it by the tables in
\`client-web/src/text/sentences/\`: whole sentences of the shipped protocol files, and sentences with places
(\`Core temperature {value} °C, {band}: no drugs.\`). A sentence in no table, such as one that a department changed, is shown as the
department wrote it. A structured form beside each sentence would have told the same twice, and a view has 4 KiB; so the wire stays
as it is, and the two sides are held together by tests instead: the engine's own test gathers every sentence that a view can show
into \`server/engine/sentences.txt\` and fails on one that is new or worded anew; the screens' test demands that each is said in each
language, with the same numbers, and that no translation stands unused. A refusal is said by its named reason, with the server's own
sentence behind it in brackets. What stays English: the sources of values, names of files and guidelines, the server's console.

## To add a language
A catalogue beside the others with every key of \`en.ts\`, a table in \`sentences/\`, its tag and own name in
\`languages.ts\`, its file in \`catalogue.svelte.ts\`, its abbreviations in \`abbreviations.json\`. The tests of \`src/text\` name what is missing.
`;
writeFileSync(new URL('../docs/languages.md', import.meta.url), languages);
