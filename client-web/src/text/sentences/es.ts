//! Sentences that come from the server, in Spanish: those of the shipped protocol files as they stand there, and those that
//! the engine composes, with places. How they are found is in `../said.ts`; the numbers in them are the protocol's.
import type { Sentences } from '../said';

export const es: Sentences = {
  'Adult cardiac arrest (AHA)': 'PCR del adulto (AHA)',
  'Cardiac arrest of a child or infant (AHA)': 'PCR del niño o lactante (AHA)',
  'Adult cardiac arrest (ERC)': 'PCR del adulto (ERC)',
  'Cardiac arrest of a child or infant (ERC)': 'PCR del niño o lactante (ERC)',
  'the maker\'s dose; unknown: the maximum. Later shocks equal or higher.':
    'la dosis del fabricante; si se desconoce: la máxima. Las siguientes, iguales o mayores.',
  'later shocks may be higher, up to the adult dose. Set the next setting up.':
    'las siguientes pueden ser mayores, hasta la dosis de adulto. Elegir el ajuste superior.',
  'pulsed biphasic 120 to 150 J. Escalate if a shock fails and the device can.':
    'bifásica pulsada 120 a 150 J. Aumentar si una descarga falla y el aparato lo permite.',
  'set the next setting up.': 'elegir el ajuste superior.',
  'set the next setting up': 'elegir el ajuste superior',
  'Shocks do not end the rhythm: the use of moving the pads or of two defibrillators is not established (AHA 2025).':
    'Las descargas no terminan el ritmo: no está demostrada la utilidad de cambiar los parches de sitio ni de dos desfibriladores (AHA 2025).',
  'Three shocks given, the last look still shockable: check the pads\' place; consider antero-posterior pads (ERC 2025). Two defibrillators in sequence: research only.':
    'Tres descargas dadas y el último ritmo aún es desfibrilable: comprobar la posición de los parches; valorar la anteroposterior (ERC 2025). Dos desfibriladores en secuencia: solo en investigación.',
  'Hypovolaemia': 'Hipovolemia',
  'Hypoxia': 'Hipoxia',
  'Hydrogen ion (acidosis)': 'Hidrogeniones (acidosis)',
  'Hypo- or hyperkalaemia': 'Hipo- o hiperpotasemia',
  'Hypothermia': 'Hipotermia',
  'Tension pneumothorax': 'Neumotórax a tensión',
  'Tamponade, cardiac': 'Taponamiento cardíaco',
  'Toxins': 'Tóxicos',
  'Thrombosis, pulmonary': 'Trombosis pulmonar',
  'Thrombosis, coronary': 'Trombosis coronaria',
  'Hypoglycaemia': 'Hipoglucemia',
  'Hypo- or hyperkalaemia, other metabolic (glucose, calcium, acid)':
    'Hipo- o hiperpotasemia, otras metabólicas (glucosa, calcio, ácido)',
  'Hypo- or hyperthermia': 'Hipo- o hipertermia',
  'Thrombosis, coronary or pulmonary': 'Trombosis coronaria o pulmonar',
  '12-lead ECG': 'ECG de 12 derivaciones',
  'Oxygen saturation': 'Saturación de oxígeno',
  'Carbon dioxide': 'Dióxido de carbono',
  'Blood pressure': 'Presión arterial',
  'Temperature': 'Temperatura',
  'Glucose': 'Glucosa',
  'as soon as feasible': 'en cuanto sea factible',
  'constant, for at least 24 h': 'constante, al menos 24 h',
  'measure; treat by local policy': 'medir; tratar según la norma local',
  'measure; normal for this child, by local policy': 'medir; normal para este niño, según la norma local',
  'aim: systolic and mean above the 10th centile for age and sex, by your table':
    'objetivo: sistólica y media por encima del percentil 10 para edad y sexo, según su tabla',
  'treat by local policy': 'tratar según la norma local',
  'by local policy': 'según la norma local',
  'prevent fever for at least 72 h': 'evitar la fiebre al menos 72 h',
  'aim: normal for the age, by your table': 'objetivo: normal para la edad, según su tabla',
  'avoid fever, by local policy': 'evitar la fiebre, según la norma local',
  'After 20 min an ETCO2 that never rose above 10 mmHg counts only with a tracheal tube in, and only as one part of a multimodal decision.':
    'Tras 20 min, un ETCO₂ que nunca subió de 10 mmHg cuenta solo con tubo traqueal colocado, y solo como una parte de una decisión multimodal.',
  'No validated rule says when an arrest in hospital should end: the team decides.':
    'Ninguna regla validada dice cuándo debe terminar una PCR en el hospital: decide el equipo.',
  'In a child no ETCO2 value is advised as a limit for deciding about ending.':
    'En un niño no se aconseja ningún valor de ETCO₂ como límite para decidir el final.',
  'Asystole for more than 20 min of ALS without a reversible cause is one prognostic sign among several.':
    'Una asistolia de más de 20 min con soporte vital avanzado y sin causa reversible es un signo pronóstico entre varios.',
  'Pregnancy': 'Embarazo',
  'Opioid': 'Opioides',
  'Hyperkalaemia': 'Hiperpotasemia',
  'Drowning': 'Ahogamiento',
  'Anaphylaxis': 'Anafilaxia',
  'Trauma': 'Traumatismo',
  'Pulmonary embolism': 'Embolia pulmonar',
  'Local-anaesthetic toxicity': 'Toxicidad por anestésico local',
  'Treatment limit found': 'Limitación terapéutica',
  'Monophasic defibrillator': 'Desfibrilador monofásico',
  'above the diaphragm': 'por encima del diafragma',
  'Push uterus left by hand': 'Desplazar el útero a la izquierda con la mano',
  'Prepare delivery here': 'Preparar el parto o cesárea aquí',
  'Decide on delivery': 'Decidir el parto o cesárea',
  'Delivery': 'Parto o cesárea',
  'Stop magnesium, if it runs': 'Parar el magnesio, si está pasando',
  'Calcium, if magnesium ran': 'Calcio, si se dio magnesio',
  'Measure the core temperature': 'Medir la temperatura central',
  'Rewarm': 'Recalentar',
  'Open the airway, ventilate': 'Abrir la vía aérea, ventilar',
  'Naloxone': 'Naloxona',
  'Calcium IV': 'Calcio IV',
  'Insulin with glucose': 'Insulina con glucosa',
  'Glucose 10 % infusion': 'Infusión de glucosa al 10 %',
  'Control bleeding, give volume': 'Controlar la hemorragia, dar volumen',
  'Airway and oxygen': 'Vía aérea y oxígeno',
  'Decompress the chest': 'Descomprimir el tórax',
  'Tamponade': 'Taponamiento',
  'Consider thrombolysis': 'Valorar trombólisis',
  'Stop the local anaesthetic': 'Parar el anestésico local',
  'Lipid emulsion 20 %': 'Emulsión lipídica al 20 %',
  'Calcium chloride 10 %': 'Cloruro cálcico al 10 %',
  'After lysis CPR goes on': 'Tras la trombólisis sigue la RCP',
  'all the time, fundus at or above the umbilicus': 'todo el tiempo, fondo uterino en el ombligo o por encima',
  'call obstetric and neonatal teams now': 'avisar ya a obstetricia y neonatología',
  'no circulation at 4 min': 'sin circulación a los 4 min',
  'within 5 min of the arrest': 'en los 5 min desde la PCR',
  'then calcium': 'después calcio',
  'only after magnesium': 'solo tras magnesio',
  'oesophagus, bladder or rectum; repeat as the patient warms': 'esófago, vejiga o recto; repetir mientras se calienta',
  'beside CPR, by local means': 'junto a la RCP, con los medios locales',
  'CPR first': 'primero la RCP',
  'never delays CPR': 'nunca retrasa la RCP',
  'with standard care': 'con la atención habitual',
  'after calcium': 'tras el calcio',
  'glucose below 7.0 mmol/L': 'glucosa por debajo de 7 mmol/L',
  'hypovolaemia first': 'primero la hipovolemia',
  'both sides, tension pneumothorax': 'ambos lados, neumotórax a tensión',
  'relieve it; thoracotomy if the skill is here': 'aliviarlo; toracotomía si hay quien la domine',
  'record the drug when it is given': 'registrar el fármaco cuando se dé',
  'every infusion and pump of it': 'toda infusión y bomba que lo lleve',
  'bolus, with standard care': 'bolo, con la atención habitual',
  'IV, with standard care': 'IV, con la atención habitual',
  'dose by local protocol': 'dosis según el protocolo local',
  'dose and route (IV, IO, IM, intranasal) by local protocol':
    'dosis y vía (IV, IO, IM, intranasal) según el protocolo local',
  'salt and dose by local protocol': 'sal y dosis según el protocolo local',
  '10 units with glucose 25 g': '10 unidades con 25 g de glucosa',
  'rate by local protocol': 'velocidad según el protocolo local',
  'by weight, by local protocol': 'según el peso, por el protocolo local',
  'Pregnancy: shock energies and drug doses as always; no fetal monitor.':
    'Embarazo: energías y dosis como siempre; sin monitor fetal.',
  'Delivered: two patients now. The newborn needs a team of its own.':
    'Ya nació: ahora son dos pacientes. El recién nacido necesita su propio equipo.',
  'Hypothermia: standard shocks and epinephrine at any temperature, beside rewarming.':
    'Hipotermia: descargas y adrenalina habituales a cualquier temperatura, junto al recalentamiento.',
  'Not dead until warm, unless there are obvious lethal signs.':
    'No está muerto hasta que esté caliente, salvo signos letales evidentes.',
  'Before compressions begin, WMS 2019 feels for the pulse for up to 1 min; once they run, the usual limit holds.':
    'Antes de empezar las compresiones, WMS 2019 palpa el pulso hasta 1 min; una vez iniciadas, rige el límite habitual.',
  'WMS 2019 speaks of ending in adults with a potassium above 12 mmol/L. Information: the leader decides.':
    'WMS 2019 habla de terminar en adultos con potasio por encima de 12 mmol/L. Información: decide el líder.',
  'Opioid with a pulse and no breathing: ventilate, and naloxone.':
    'Opioides con pulso y sin respiración: ventilar, y naloxona.',
  'Dialysis: disconnect before a shock, unless the machine is defibrillator-proof (UKKA 2023).':
    'Diálisis: desconectar antes de una descarga, salvo que la máquina resista la desfibrilación (UKKA 2023).',
  'IM epinephrine before the arrest is not an arrest dose: the plan counts IV and IO doses only.':
    'La adrenalina IM antes de la PCR no es una dosis de la PCR: el plan cuenta solo las dosis IV e IO.',
  'Thoracotomy is seldom useful later than 10 min (ANZCOR), 15 min (ERC).':
    'La toracotomía rara vez es útil después de 10 min (ANZCOR), 15 min (ERC).',
  'Monophasic defibrillator: a child\'s energy by weight stays as it is.':
    'Desfibrilador monofásico: la energía por peso de un niño no cambia.',
  'rescue breathing from the start, not compressions alone': 'ventilar desde el principio, no solo compresiones',
  'then 30:2; compressions that run go on': 'luego 30:2; las compresiones en marcha siguen',
  'then 15:2; compressions that run go on': 'luego 15:2; las compresiones en marcha siguen',
  'Anaphylaxis asks for epinephrine at once; trauma puts reversible causes before it. The plan asks for both; the leader decides.':
    'La anafilaxia pide adrenalina enseguida; el traumatismo antepone las causas reversibles. El plan pide ambas; decide el líder.',
  'Thrombolysis for pulmonary embolism against bleeding in trauma: the plan shows both; the leader decides.':
    'Trombólisis por embolia pulmonar frente a hemorragia por traumatismo: el plan muestra ambas; decide el líder.',
  'Thrombolysis for pulmonary embolism against delivery in pregnancy (bleeding): the plan shows both; the leader decides.':
    'Trombólisis por embolia pulmonar frente a parto o cesárea en el embarazo (hemorragia): el plan muestra ambas; decide el líder.',
  'an order that limits treatment was found: what does it mean now?':
    'se encontró una orden que limita el tratamiento: ¿qué significa ahora?',
  '{name}: {factor} x months + {plus}': '{name}: {factor} x meses + {plus}',
  '{name}: {factor} x years + {plus}': '{name}: {factor} x años + {plus}',
  '{kg} kg was estimated from age, and no formula holds for the age known now':
    '{kg} kg se estimó por la edad, y ninguna fórmula vale para la edad que consta ahora',
  '{kg} kg was estimated from another age; {formula} gives {now} kg':
    '{kg} kg se estimó con otra edad; {formula} da {now} kg',
  '{kg} kg is much for {age} (by age about {expected} kg): kilograms, or pounds?':
    '{kg} kg es mucho para {age} (por edad unos {expected} kg): ¿kilogramos o libras?',
  '{kg} kg is little for {age} (by age about {expected} kg): kilograms, or another unit?':
    '{kg} kg es poco para {age} (por edad unos {expected} kg): ¿kilogramos u otra unidad?',
  '{count} months': '{count, plural, one {# mes} other {# meses}}',
  '{count} years': '{count, plural, one {# año} other {# años}}',
  'an infant': 'un lactante',
  'for {kg} kg measured': 'para {kg} kg medidos',
  'for {kg} kg by length, an estimate': 'para {kg} kg por la talla, una estimación',
  'for {kg} kg told': 'para {kg} kg referidos',
  'for {kg} kg, estimated from age ({formula})': 'para {kg} kg, estimados por la edad ({formula})',
  'for {kg} kg, estimated from age': 'para {kg} kg, estimados por la edad',
  '{dose} mg/kg {label}': '{dose} mg/kg {label}',
  '{energy} J/kg {label}': '{energy} J/kg {label}',
  'Doses are {label}; {kg} kg {whence}, entered later, does not count. If it should, correct the first entry.':
    'Las dosis son {label}; {kg} kg {whence}, anotado después, no cuenta. Si debe contar, corrija la primera anotación.',
  'measured': 'medido',
  'by length': 'por la talla',
  'told': 'referido',
  'estimated from age': 'estimado por la edad',
  'enter the weight first: no dose is shown for a child without one':
    'anotar primero el peso: sin él no se muestra ninguna dosis para un niño',
  'this protocol\'s doses and energies are an adult\'s: change the protocol':
    'las dosis y energías de este protocolo son de adulto: cambiar de protocolo',
  'this protocol\'s doses and energies are a child\'s: change the protocol':
    'las dosis y energías de este protocolo son de niño: cambiar de protocolo',
  '{dose} mg/kg, at most {most} mg; at {strength} mg/mL that is {volume} mL/kg':
    '{dose} mg/kg, máximo {most} mg; a {strength} mg/mL son {volume} mL/kg',
  '{volume} mL/kg, at most {most} mL': '{volume} mL/kg, máximo {most} mL',
  'drawn up: {drawn} mg; asked for now: {asked} mg': 'preparado: {drawn} mg; se pide ahora: {asked} mg',
  'Epinephrine at {time}: {most}, not counted as a dose of the arrest.':
    'Adrenalina en {time}: {most}, no cuenta como dosis de la PCR.',
  '{amount} mg or less': '{amount} mg o menos',
  'Epinephrine {mg} mg at {time}: more than {times} times the protocol\'s {asked} mg for this patient. Check; correct the record if it was mistyped.':
    'Adrenalina {mg} mg en {time}: más de {times} veces los {asked} mg del protocolo para este paciente. Comprobar; corregir el registro si fue un error al anotar.',
  '{circumstance}: {drug} is not offered.': '{circumstance}: no se ofrece {drug}.',
  '{drug} at {time}, before any shockable rhythm: not counted as a dose of the arrest.':
    '{drug} en {time}, antes de cualquier ritmo desfibrilable: no cuenta como dosis de la PCR.',
  'Epinephrine before arrival, time not known: taken as given when this code was opened.':
    'Adrenalina antes de la llegada, hora desconocida: se toma como dada al abrir este código.',
  'Epinephrine before arrival, told with a time still to come: taken as given when it was told.':
    'Adrenalina antes de la llegada, referida con una hora futura: se toma como dada al referirla.',
  '{count} shock before arrival, times not known: counted towards the drugs that follow shocks.':
    '{count} descarga antes de la llegada, hora desconocida: cuenta para los fármacos que siguen a las descargas.',
  '{count} shocks before arrival, times not known: counted towards the drugs that follow shocks.':
    '{count} descargas antes de la llegada, horas desconocidas: cuentan para los fármacos que siguen a las descargas.',
  'Antiarrhythmic before arrival, time not known: taken as one dose, given before every shock here.':
    'Antiarrítmico antes de la llegada, hora desconocida: se toma como una dosis, dada antes de toda descarga aquí.',
  'Antiarrhythmic before arrival, time not known: taken as {count} doses, given before every shock here.':
    'Antiarrítmico antes de la llegada, hora desconocida: se toma como {count} dosis, dadas antes de toda descarga aquí.',
  'Biphasic, first shock {energies} J: {rule}': 'Bifásica, primera descarga {energies} J: {rule}',
  'Biphasic {energies} J: {rule}': 'Bifásica {energies} J: {rule}',
  '{steps}; at most {most} J/kg and {joules} J: {rule}': '{steps}; máximo {most} J/kg y {joules} J: {rule}',
  'Biphasic, first shock {energies} J: {rule} Monophasic {mono} J.':
    'Bifásica, primera descarga {energies} J: {rule} Monofásica {mono} J.',
  'Biphasic {energies} J: {rule} Monophasic {mono} J.': 'Bifásica {energies} J: {rule} Monofásica {mono} J.',
  '{steps}; at most {most} J/kg and {joules} J: {rule} Monophasic {mono} J.':
    '{steps}; máximo {most} J/kg y {joules} J: {rule} Monofásica {mono} J.',
  'from shock {number} on {energy} J/kg': 'desde la descarga {number}: {energy} J/kg',
  'at least {amount}': 'al menos {amount}',
  'at most {amount}': 'máximo {amount}',
  'above {amount}': 'más de {amount}',
  'below {amount}': 'menos de {amount}',
  'not above {amount}': 'no más de {amount}',
  'above {low} to {high}': 'por encima de {low} a {high}',
  'below {low} to {high}': 'por debajo de {low} a {high}',
  '{charged} J is charged; there is no weight to hold it against':
    'hay cargados {charged} J; no hay peso con que compararlos',
  '{charged} J is charged; the most for this weight is {most} J':
    'hay cargados {charged} J; el máximo para este peso es {most} J',
  '{charged} J is charged; the protocol asks for {wanted} J': 'hay cargados {charged} J; el protocolo pide {wanted} J',
  'Witnessed, monitored, no shock before: up to {count} shocks in quick succession. Compressions in between end the stack.':
    'Presenciada, monitorizada, sin descarga previa: hasta {count} descargas seguidas. Las compresiones entre ellas terminan la serie.',
  '{rate} a minute for an infant': '{rate} por minuto para un lactante',
  '{rate} a minute for {years} years and over': '{rate} por minuto desde {years} años',
  'the age is not entered, the youngest of the group is assumed': 'no consta la edad, se supone la menor del grupo',
  'enter the age: the youngest of the group is assumed': 'anotar la edad: se supone la menor del grupo',
  'one breath each {fast} to {slow} s, {low} to {high} a minute':
    'una ventilación cada {fast} a {slow} s, {low} a {high} por minuto',
  'below {c} °C': 'por debajo de {c} °C',
  'from {c} °C': 'desde {c} °C',
  'from {low} to below {high} °C': 'de {low} a menos de {high} °C',
  '{circumstance}, no core temperature known: drugs and shocks by the standard plan.':
    '{circumstance}, temperatura central desconocida: fármacos y descargas según el plan habitual.',
  'Core temperature {value} °C, {band}: intervals between doses doubled.':
    'Temperatura central {value} °C, {band}: intervalos entre dosis duplicados.',
  'Core temperature {value} °C, {band}: no drugs.': 'Temperatura central {value} °C, {band}: sin fármacos.',
  '{count} shocks given; at most {most} {band}: none is asked for until the patient is warmer.':
    '{count} descargas dadas; máximo {most} {band}: no se pide ninguna hasta que el paciente esté más caliente.',
  '{cold} {band} withholds drugs; {other} asks for: {wanted}. The plan withholds it; the team leader decides.':
    '{cold} {band} suspende los fármacos; {other} pide: {wanted}. El plan lo suspende; decide el líder del equipo.',
  'epinephrine at once': 'adrenalina enseguida',
  'core temperature {amount}': 'temperatura central {amount}',
  'This protocol says nothing of {circumstance}: the plan is the standard one.':
    'Este protocolo no dice nada de {circumstance}: el plan es el habitual.',
  '{circumstance}, {weeks} weeks: not asked below {from} weeks: {tasks}.':
    '{circumstance}, {weeks} semanas: no se pide por debajo de {from} semanas: {tasks}.',
  '{title}, begun at {time}: on to {from} to {to}.': '{title}, iniciada en {time}: seguir hasta {from} a {to}.',
  'to {from} to {to}': 'hasta {from} a {to}',
  'Death declared {time} after recognition; the code is open until somebody closes it.':
    'Muerte declarada {time} después del reconocimiento; el código sigue abierto hasta que alguien lo cierre.',
  'SpO2 {amount}': 'SpO₂ {amount}',
  'PaCO2 {amount} ({other})': 'PaCO₂ {amount} ({other})',
  'systolic {amount}': 'sistólica {amount}',
  'diastolic {amount}': 'diastólica {amount}',
  'mean {amount}': 'media {amount}',
  'glucose {amount}': 'glucosa {amount}',
  'potassium {amount}': 'potasio {amount}',
  'The disk is slow: what was just entered is not saved yet.': 'El disco va lento: lo último anotado aún no está guardado.',
  'The disk does not take records: what was just entered is not saved yet.':
    'El disco no admite registros: lo último anotado aún no está guardado.',
  'ECMO started: compressions and drugs go on by the protocol until return of circulation is recorded or the code is closed; the team decides.':
    'ECMO iniciada: compresiones y fármacos siguen según el protocolo hasta que se registre la RCE o se cierre el código; decide el equipo.',
  'oxygenation': 'oxigenación',
  'lactate {amount}': 'lactato {amount}',
  'pH {amount}': 'pH {amount}',
};
