//! Puts prompts and events into words, from the labels. It must not hold labels or decide anything.
import { said, t, word, type Key } from '../text';
import type { Dose, Event, Patient, PriorCare, Prompt, TeamLine } from '../wire/generated';
import { amount, clockText, reading, spanText } from './format';
import { ageText, weightText } from './patient';
import type { Particulars } from './tasks';

/** `10 mL`, in one piece: a number never stands on another line than its unit. */
export function doseText(dose: Dose | undefined): string {
  return dose ? `${amount(dose.value)}\u00a0${unitText(dose.unit)}` : '';
}

/** `Rhythm: VF`, with the language's own space before the colon. */
const of = (label: string, what: string | number): string => t('app.of', { label, what });

/** A UCUM unit as people write it: `ug` is misread, so that it is spelt out. */
function unitText(unit: string): string {
  if (unit === '[iU]') return t('unit.units');
  return unit === 'ug' || unit.startsWith('ug/') ? unit.replace('ug', t('unit.microgram')) : unit;
}

/** `200 J`, in one piece. */
export const joules = (energy_j: number): string => t('energy.joules', { energy: amount(energy_j) }).replace(' ', '\u00a0');

function energyText(detail: Particulars, chosen_j: number | null): string {
  const energy_j = chosen_j ?? detail.energy_j;
  return energy_j === undefined ? '' : joules(energy_j);
}

/** The instruction, large. It changes when the moment comes: nobody shall stop because a stop is announced. */
export function instruction(prompt: Prompt, now_ms: number, chosen_j: number | null = null): string {
  const detail: Particulars = prompt.detail;
  const early = now_ms < prompt.due_at_ms;
  const drug = word('drug', detail.drug ?? '');
  switch (prompt.action) {
    case 'pause_for_check':
      return t(early ? 'do.pause_for_check.ahead' : 'do.pause_for_check');
    case 'announce':
      return detail.of === 'pause_for_check' ? t('do.announce.pause_for_check') : detail.of === 'give_drug' ? t('do.announce.give_drug') : t('do.announce');
    case 'read_rhythm':
      if (detail.of === 'finger_on_pulse') return t('do.read_rhythm.pulse');
      return t(detail.of === 'read_rhythm' ? 'do.read_rhythm.again' : 'do.read_rhythm');
    case 'charge_ahead':
    case 'charge':
      return t(`do.${prompt.action}`, { energy: energyText(detail, chosen_j) }).replace(/ +/g, ' ');
    case 'give_shock':
      return t('do.give_shock', { energy: energyText(detail, chosen_j) }).trim();
    case 'call_all_clear':
      return t(early ? 'do.call_all_clear.ahead' : 'do.call_all_clear');
    case 'draw_up':
      return t('do.draw_up', { drug });
    case 'give_drug':
      // What is only expected, as a dose after a shock that is not given yet, is never ordered.
      return t(early || prompt.assumed ? 'do.give_drug.ahead' : 'do.give_drug', { drug });
    case 'ventilate':
      return detail.one_breath_each_s === undefined
        ? t('do.ventilate.ratio', { ratio: detail.ratio ?? '' })
        : t('do.ventilate.each', { seconds: amount(detail.one_breath_each_s) });
    case 'aftercare':
      return t('do.aftercare', { item: said(detail.item ?? '') });
    case 'initial_breaths':
      return detail.breaths === undefined ? t('do.initial_breaths.any') : t('do.initial_breaths', { breaths: detail.breaths });
    case 'enter_weight':
      return t(detail.doubt === undefined ? 'do.enter_weight' : 'do.enter_weight.doubt');
    case 'special_care':
      return t('do.special_care', { item: detail.item === undefined ? circumstanceText(detail) : said(detail.item) });
    case 'consider_circumstance':
      return t('do.consider_circumstance', { item: circumstanceText(detail) });
    case 'confirm_second_dose':
      return t('do.confirm_second_dose', { drug });
    default:
      return t(`do.${prompt.action}`);
  }
}

const circumstanceText = (detail: Particulars): string =>
  detail.circumstance === undefined ? said(detail.item ?? '') : word('circumstance', detail.circumstance);

/** What has to be read together with the instruction, so that the instruction itself stays short enough to be large. */
export function beside(prompt: Prompt, now_ms: number): string | null {
  const detail: Particulars = prompt.detail;
  switch (prompt.action) {
    case 'announce': {
      const seconds = Math.ceil(Math.max(0, (detail.of_at_ms ?? prompt.due_at_ms) - now_ms) / 1000);
      if (detail.of === 'pause_for_check') return t('beside.announce.pause_for_check', { seconds });
      return detail.of === 'give_drug' ? t('beside.announce.give_drug', { drug: word('drug', detail.drug ?? ''), seconds }) : null;
    }
    case 'finger_on_pulse':
    case 'charge_ahead':
    case 'charge':
      return t('beside.compressions');
    case 'ready_relief':
    case 'possible_rosc':
      return t(`beside.${prompt.action}`);
    default:
      return null;
  }
}

/** What stands below the instruction: dose, volume, strength, energy rule, target, reason. */
export function particulars(prompt: Prompt): string[] {
  const detail: Particulars = prompt.detail;
  const lines: string[] = [];
  const dose = [doseText(detail.dose), doseText(detail.volume)].filter(Boolean).join(' = ');
  if (dose) lines.push(dose + (detail.strength ? ` (${said(detail.strength)})` : ''));
  if (detail.rule) lines.push(said(detail.rule));
  // The strength stands once, and never as a part of a sentence that is about something else.
  if (!dose && detail.strength && !detail.rule?.includes(detail.strength)) lines.push(said(detail.strength));
  if (detail.flush_ml !== undefined) lines.push(t('dose.flush', { volume: amount(detail.flush_ml) }));
  if (detail.waits_for) lines.push(word('dose.waits', detail.waits_for));
  if (detail.energy_rule) lines.push(said(detail.energy_rule));
  if (detail.stack) lines.push(t('shock.stack', { number: detail.stack.number, of: detail.stack.of }));
  if (detail.apart_ms !== undefined) lines.push(t('dose.apart', { time: spanText(detail.apart_ms) }));
  if (detail.target) lines.push(prompt.action === 'change_pads' ? word('position', detail.target) : said(detail.target));
  // The reading that suggests it is the reason for asking.
  if (prompt.action === 'consider_circumstance' && prompt.why) lines.push(said(prompt.why));
  if (prompt.action === 'enter_weight' && detail.estimate) lines.push(estimateText(detail.estimate));
  if (prompt.action === 'special_care' && detail.circumstance && detail.item) lines.push(circumstanceText(detail));
  return lines;
}

/** `Estimate 14 kg (APLS: 2 x years + 8)`: an estimate never stands without its formula. */
export function estimateText(estimate: { weight_kg: number; formula: string }): string {
  return t('weight.estimate', { weight: amount(estimate.weight_kg), formula: said(estimate.formula) });
}

/** A prompt in two or three words. */
export function short(prompt: Pick<Prompt, 'action'> & { detail?: Particulars }): string {
  const drug = prompt.detail?.drug ? word('drug', prompt.detail.drug) : '';
  const of = prompt.detail?.of;
  const item = prompt.detail?.item;
  if (item && (prompt.action === 'special_care' || prompt.action === 'aftercare')) return said(item);
  const what = prompt.action !== 'announce' || !of ? '' : of === 'give_drug' ? drug : t(`short.${of}`, { drug, what: '' });
  return t(`short.${prompt.action}`, { drug, what }).trim();
}

/** A role's next task in the leader's picture: in the protocol's words, where it has words of its own. */
export function teamText(line: TeamLine): string {
  if (!line.action) return t('short.nothing');
  if (line.item !== undefined) return said(line.item);
  return t(`short.${line.action}`, { drug: line.drug ? word('drug', line.drug) : '', what: '' }).trim();
}

/** What a tap records, on its button. */
export function tapLabel(event: Event, prompt: Pick<Prompt, 'action'> | null = null): string {
  const name = t(`tap.${event.kind}` as Key);
  switch (event.kind) {
    case 'compressions_started':
      return event.by === 'mechanical' ? t('tap.compressions_started.mechanical') : name;
    case 'drug_prepared':
    case 'drug_given':
      return of(name, `${word('drug', event.drug)} ${doseText(event.dose)}`.trim());
    case 'charging_started':
    case 'shock_delivered':
      return event.energy_j === undefined ? name : `${name} ${joules(event.energy_j)}`;
    case 'access_gained':
    case 'access_failed':
    case 'access_lost':
      return of(name, t(`route.${event.route}`));
    case 'task_done':
      if (prompt?.action === 'announce') return t('tap.said_it');
      switch (prompt?.action) {
        case 'review_causes':
          return t('tap.causes_done');
        case 'confirm_second_dose':
          return t('tap.both_given');
        case 'enter_weight':
          return t('tap.weight_right');
        case 'consider_circumstance':
          return t('tap.holds_not');
        case 'change_protocol':
          return t('tap.keep_protocol');
        case 'confirm_roles':
          return t('tap.roles_right');
        case 'confirm_flow':
          return t('tap.flow_carries');
        case 'review_limits':
          return t('tap.limits_seen');
        case 'close_code':
          return t('tap.goes_on');
        default:
          return name;
      }
    case 'patient_updated':
      return prompt?.action === 'enter_weight' && event.weight_kg !== undefined ? t('tap.weight_use', { weight: amount(event.weight_kg) }) : name;
    case 'circumstance_set':
      return prompt?.action === 'consider_circumstance' ? t('tap.holds', { what: word('circumstance', event.name) }) : name;
    case 'pads_attached':
      return prompt?.action === 'change_pads' ? t('tap.pads_moved') : name;
    case 'cause_treated':
      return of(name, word('cause', event.cause));
    case 'breaths_given':
      return prompt?.action === 'initial_breaths' ? of(name, event.count) : name;
    default:
      return name;
  }
}

/** One line of the record. */
export function eventText(event: Event): string {
  // What was ticked off is named by its key, which begins with the task.
  const ticked = event.kind === 'task_done' ? { action: event.prompt.split('@')[0] as Prompt['action'] } : null;
  const label = tapLabel(event, ticked);
  switch (event.kind) {
    case 'compressions_stopped':
    case 'pause_reason':
      return of(label, t(`reason.${event.reason}`));
    case 'rhythm_checked':
      return of(label, t(`rhythm.${event.rhythm}`)) + (event.pulse === 'not_checked' ? '' : `, ${t(`pulse.${event.pulse}`)}`);
    case 'role_assigned':
    case 'role_released':
    case 'pulse_duty_given':
      return of(label, t(`role.${event.role}`));
    case 'airway_placed':
    case 'airway_attempted':
    case 'airway_removed':
      return of(label, t(`airway.${event.airway}`));
    case 'drug_given':
      return `${label} ${t(`route.${event.route}`)}`;
    case 'pads_attached':
      return of(label, t(`position.${event.position}`));
    case 'patient_updated':
      return of(label, patientText(event));
    case 'vital_read':
    case 'lab_read':
      return readingText(event);
    case 'protocol_changed':
      return of(label, `${event.protocol.id} – ${event.reason}`);
    case 'breaths_given':
      return of(label, event.count);
    case 'etco2_read':
      return of(label, `${amount(event.mmhg)} mmHg`);
    case 'cause_considered':
      return of(label, word('cause', event.cause));
    case 'note':
      return of(label, event.text);
    case 'code_closed':
      return of(label, t(`outcome.${event.outcome}`));
    case 'clock_started':
      return event.recognised_ago_ms ? `${label} (−${clockText(event.recognised_ago_ms)})` : label;
    case 'clock_corrected':
      return of(label, `${clockText(event.from_ms)} → ${clockText(event.to_ms)}`);
    case 'moved':
      return of(label, event.location);
    case 'circumstance_set':
      return of(label, `${word('circumstance', event.name)}${event.on ? '' : ` – ${t('circumstance.off')}`}`);
    case 'team_called':
    case 'team_arrived':
    case 'ultrasound_done':
    case 'delivery':
    case 'ecmo_started':
    case 'thoracotomy':
    case 'death_declared':
      return event.note ? of(label, event.note) : label;
    case 'prior_care_reported':
      return of(label, priorText(event));
    default:
      return label;
  }
}

/** What was said of the patient. */
function patientText(patient: Patient): string {
  const parts: string[] = [];
  const weight = weightText(patient);
  if (weight) parts.push(weight);
  if (patient.age_months !== undefined) parts.push(ageText(patient.age_months));
  if (patient.age_group) parts.push(t(`age.${patient.age_group}`));
  if (patient.gestation_weeks !== undefined) parts.push(t('patient.gestation', { weeks: patient.gestation_weeks }));
  if (patient.core_temp_c !== undefined) parts.push(t('patient.core_temp', { temp: reading(patient.core_temp_c, 1) }));
  if (patient.sex) parts.push(t(`sex.${patient.sex}`));
  return parts.join(', ');
}

/** Readings with their names and units: `SpO₂, %: 94`. */
function readingText(event: Event & { kind: 'vital_read' | 'lab_read' }): string {
  const parts: string[] = [];
  for (const [field, value] of Object.entries(event)) {
    if (typeof value === 'number') parts.push(of(word('vital', field), amount(value)));
    else if (field === 'temp_site') parts.push(word('temp_site', String(value)));
  }
  return parts.join(', ');
}

/** Care before arrival, as far as it was told. */
function priorText(care: PriorCare): string {
  const parts: string[] = [];
  if (care.shocks !== undefined) parts.push(`${t('prior.shocks')} ${care.shocks}`);
  if (care.epinephrine_doses !== undefined) parts.push(`${t('prior.doses')} ${care.epinephrine_doses}`);
  if (care.last_epinephrine_at_ms !== undefined) parts.push(`${t('prior.last')} ${clockText(care.last_epinephrine_at_ms)}`);
  else if ((care.epinephrine_doses ?? 0) > 0) parts.push(of(t('prior.last'), t('prior.time_unknown')));
  if (care.amiodarone_mg !== undefined) parts.push(`${t('prior.amiodarone')} ${amount(care.amiodarone_mg)}`);
  if (care.lidocaine_mg !== undefined) parts.push(`${t('prior.lidocaine')} ${amount(care.lidocaine_mg)}`);
  if (care.airway) parts.push(t(`airway.${care.airway}`));
  if (care.access) parts.push(t(`route.${care.access}`));
  return parts.join(', ');
}
