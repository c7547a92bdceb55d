//! Sentences that come from the server, in Portuguese: those of the shipped protocol files as they stand there, and those that
//! the engine composes, with places. How they are found is in `../said.ts`; the numbers in them are the protocol's.
import type { Sentences } from '../said';

export const pt: Sentences = {
  'Adult cardiac arrest (AHA)': 'PCR do adulto (AHA)',
  'Cardiac arrest of a child or infant (AHA)': 'PCR da criança ou do lactente (AHA)',
  'Adult cardiac arrest (ERC)': 'PCR do adulto (ERC)',
  'Cardiac arrest of a child or infant (ERC)': 'PCR da criança ou do lactente (ERC)',
  'the maker\'s dose; unknown: the maximum. Later shocks equal or higher.':
    'a dose do fabricante; desconhecida: a máxima. Choques seguintes iguais ou maiores.',
  'later shocks may be higher, up to the adult dose. Set the next setting up.':
    'os choques seguintes podem ser maiores, até a dose de adulto. Escolher o ajuste acima.',
  'pulsed biphasic 120 to 150 J. Escalate if a shock fails and the device can.':
    'bifásica pulsada 120 a 150 J. Aumentar se um choque falhar e o aparelho permitir.',
  'set the next setting up.': 'escolher o ajuste acima.',
  'set the next setting up': 'escolher o ajuste acima',
  'Shocks do not end the rhythm: the use of moving the pads or of two defibrillators is not established (AHA 2025).':
    'Os choques não terminam o ritmo: não está comprovada a utilidade de mudar os eletrodos de lugar nem de dois desfibriladores (AHA 2025).',
  'Three shocks given, the last look still shockable: check the pads\' place; consider antero-posterior pads (ERC 2025). Two defibrillators in sequence: research only.':
    'Três choques aplicados e o último ritmo ainda é chocável: verificar a posição dos eletrodos; considerar a anteroposterior (ERC 2025). Dois desfibriladores em sequência: só em investigação.',
  'Hypovolaemia': 'Hipovolemia',
  'Hypoxia': 'Hipóxia',
  'Hydrogen ion (acidosis)': 'Íon hidrogênio (acidose)',
  'Hypo- or hyperkalaemia': 'Hipo- ou hipercalemia',
  'Hypothermia': 'Hipotermia',
  'Tension pneumothorax': 'Pneumotórax hipertensivo',
  'Tamponade, cardiac': 'Tamponamento cardíaco',
  'Toxins': 'Tóxicos',
  'Thrombosis, pulmonary': 'Trombose pulmonar',
  'Thrombosis, coronary': 'Trombose coronária',
  'Hypoglycaemia': 'Hipoglicemia',
  'Hypo- or hyperkalaemia, other metabolic (glucose, calcium, acid)':
    'Hipo- ou hipercalemia, outras metabólicas (glicose, cálcio, ácido)',
  'Hypo- or hyperthermia': 'Hipo- ou hipertermia',
  'Thrombosis, coronary or pulmonary': 'Trombose coronária ou pulmonar',
  '12-lead ECG': 'ECG de 12 derivações',
  'Oxygen saturation': 'Saturação de oxigênio',
  'Carbon dioxide': 'Dióxido de carbono',
  'Blood pressure': 'Pressão arterial',
  'Temperature': 'Temperatura',
  'Glucose': 'Glicemia',
  'as soon as feasible': 'assim que for viável',
  'constant, for at least 24 h': 'constante, por pelo menos 24 h',
  'measure; treat by local policy': 'medir; tratar segundo a norma local',
  'measure; normal for this child, by local policy': 'medir; normal para esta criança, segundo a norma local',
  'aim: systolic and mean above the 10th centile for age and sex, by your table':
    'meta: sistólica e média acima do percentil 10 para idade e sexo, segundo a sua tabela',
  'treat by local policy': 'tratar segundo a norma local',
  'by local policy': 'segundo a norma local',
  'prevent fever for at least 72 h': 'prevenir a febre por pelo menos 72 h',
  'aim: normal for the age, by your table': 'meta: normal para a idade, segundo a sua tabela',
  'avoid fever, by local policy': 'evitar a febre, segundo a norma local',
  'After 20 min an ETCO2 that never rose above 10 mmHg counts only with a tracheal tube in, and only as one part of a multimodal decision.':
    'Após 20 min, um ETCO₂ que nunca passou de 10 mmHg conta só com tubo traqueal colocado, e só como uma parte de uma decisão multimodal.',
  'No validated rule says when an arrest in hospital should end: the team decides.':
    'Nenhuma regra validada diz quando uma PCR no hospital deve terminar: a equipe decide.',
  'In a child no ETCO2 value is advised as a limit for deciding about ending.':
    'Numa criança nenhum valor de ETCO₂ é aconselhado como limite para decidir o fim.',
  'Asystole for more than 20 min of ALS without a reversible cause is one prognostic sign among several.':
    'Uma assistolia de mais de 20 min com suporte avançado de vida e sem causa reversível é um sinal prognóstico entre vários.',
  'Pregnancy': 'Gravidez',
  'Opioid': 'Opioides',
  'Hyperkalaemia': 'Hipercalemia',
  'Drowning': 'Afogamento',
  'Anaphylaxis': 'Anafilaxia',
  'Trauma': 'Trauma',
  'Pulmonary embolism': 'Embolia pulmonar',
  'Local-anaesthetic toxicity': 'Toxicidade por anestésico local',
  'Treatment limit found': 'Limitação terapêutica encontrada',
  'Monophasic defibrillator': 'Desfibrilador monofásico',
  'above the diaphragm': 'acima do diafragma',
  'Push uterus left by hand': 'Deslocar o útero para a esquerda com a mão',
  'Prepare delivery here': 'Preparar o parto ou cesariana aqui',
  'Decide on delivery': 'Decidir o parto ou cesariana',
  'Delivery': 'Parto ou cesariana',
  'Stop magnesium, if it runs': 'Parar o magnésio, se estiver correndo',
  'Calcium, if magnesium ran': 'Cálcio, se correu magnésio',
  'Measure the core temperature': 'Medir a temperatura central',
  'Rewarm': 'Reaquecer',
  'Open the airway, ventilate': 'Abrir a via aérea, ventilar',
  'Naloxone': 'Naloxona',
  'Calcium IV': 'Cálcio IV',
  'Insulin with glucose': 'Insulina com glicose',
  'Glucose 10 % infusion': 'Infusão de glicose a 10 %',
  'Control bleeding, give volume': 'Controlar a hemorragia, dar volume',
  'Airway and oxygen': 'Via aérea e oxigênio',
  'Decompress the chest': 'Descomprimir o tórax',
  'Tamponade': 'Tamponamento',
  'Consider thrombolysis': 'Considerar trombólise',
  'Stop the local anaesthetic': 'Parar o anestésico local',
  'Lipid emulsion 20 %': 'Emulsão lipídica a 20 %',
  'Calcium chloride 10 %': 'Cloreto de cálcio a 10 %',
  'After lysis CPR goes on': 'Após a trombólise a RCP continua',
  'all the time, fundus at or above the umbilicus': 'todo o tempo, fundo uterino no umbigo ou acima',
  'call obstetric and neonatal teams now': 'chamar já obstetrícia e neonatologia',
  'no circulation at 4 min': 'sem circulação aos 4 min',
  'within 5 min of the arrest': 'nos 5 min desde a PCR',
  'then calcium': 'depois cálcio',
  'only after magnesium': 'só depois de magnésio',
  'oesophagus, bladder or rectum; repeat as the patient warms': 'esôfago, bexiga ou reto; repetir à medida que aquece',
  'beside CPR, by local means': 'junto com a RCP, com os meios locais',
  'CPR first': 'primeiro a RCP',
  'never delays CPR': 'nunca atrasa a RCP',
  'with standard care': 'com os cuidados habituais',
  'after calcium': 'depois do cálcio',
  'glucose below 7.0 mmol/L': 'glicemia abaixo de 7 mmol/L',
  'hypovolaemia first': 'primeiro a hipovolemia',
  'both sides, tension pneumothorax': 'dos dois lados, pneumotórax hipertensivo',
  'relieve it; thoracotomy if the skill is here': 'aliviá-lo; toracotomia se houver quem a domine',
  'record the drug when it is given': 'anotar o fármaco quando for dado',
  'every infusion and pump of it': 'toda infusão e bomba com ele',
  'bolus, with standard care': 'bolus, com os cuidados habituais',
  'IV, with standard care': 'IV, com os cuidados habituais',
  'dose by local protocol': 'dose segundo o protocolo local',
  'dose and route (IV, IO, IM, intranasal) by local protocol':
    'dose e via (IV, IO, IM, intranasal) segundo o protocolo local',
  'salt and dose by local protocol': 'sal e dose segundo o protocolo local',
  '10 units with glucose 25 g': '10 unidades com 25 g de glicose',
  'rate by local protocol': 'velocidade segundo o protocolo local',
  'by weight, by local protocol': 'pelo peso, segundo o protocolo local',
  'Pregnancy: shock energies and drug doses as always; no fetal monitor.':
    'Gravidez: energias e doses como sempre; sem monitor fetal.',
  'Delivered: two patients now. The newborn needs a team of its own.':
    'Nasceu: agora são dois pacientes. O recém-nascido precisa da sua própria equipe.',
  'Hypothermia: standard shocks and epinephrine at any temperature, beside rewarming.':
    'Hipotermia: choques e adrenalina habituais a qualquer temperatura, junto com o reaquecimento.',
  'Not dead until warm, unless there are obvious lethal signs.':
    'Não está morto até estar aquecido, exceto com sinais letais evidentes.',
  'Before compressions begin, WMS 2019 feels for the pulse for up to 1 min; once they run, the usual limit holds.':
    'Antes de iniciar as compressões, WMS 2019 palpa o pulso por até 1 min; depois de iniciadas, vale o limite habitual.',
  'WMS 2019 speaks of ending in adults with a potassium above 12 mmol/L. Information: the leader decides.':
    'WMS 2019 fala de terminar em adultos com potássio acima de 12 mmol/L. Informação: o líder decide.',
  'Opioid with a pulse and no breathing: ventilate, and naloxone.':
    'Opioides com pulso e sem respiração: ventilar, e naloxona.',
  'Dialysis: disconnect before a shock, unless the machine is defibrillator-proof (UKKA 2023).':
    'Diálise: desligar antes de um choque, a não ser que a máquina resista à desfibrilação (UKKA 2023).',
  'IM epinephrine before the arrest is not an arrest dose: the plan counts IV and IO doses only.':
    'A adrenalina IM antes da PCR não é uma dose da PCR: o plano conta só as doses IV e IO.',
  'Thoracotomy is seldom useful later than 10 min (ANZCOR), 15 min (ERC).':
    'A toracotomia raramente é útil depois de 10 min (ANZCOR), 15 min (ERC).',
  'Monophasic defibrillator: a child\'s energy by weight stays as it is.':
    'Desfibrilador monofásico: a energia pelo peso da criança não muda.',
  'rescue breathing from the start, not compressions alone': 'ventilar desde o início, não só compressões',
  'then 30:2; compressions that run go on': 'depois 30:2; as compressões em curso continuam',
  'then 15:2; compressions that run go on': 'depois 15:2; as compressões em curso continuam',
  'Anaphylaxis asks for epinephrine at once; trauma puts reversible causes before it. The plan asks for both; the leader decides.':
    'A anafilaxia pede adrenalina já; o trauma põe antes as causas reversíveis. O plano pede ambas; o líder decide.',
  'Thrombolysis for pulmonary embolism against bleeding in trauma: the plan shows both; the leader decides.':
    'Trombólise por embolia pulmonar contra hemorragia no trauma: o plano mostra ambas; o líder decide.',
  'Thrombolysis for pulmonary embolism against delivery in pregnancy (bleeding): the plan shows both; the leader decides.':
    'Trombólise por embolia pulmonar contra parto ou cesariana na gravidez (hemorragia): o plano mostra ambas; o líder decide.',
  'an order that limits treatment was found: what does it mean now?':
    'foi encontrada uma ordem que limita o tratamento: o que significa agora?',
  '{name}: {factor} x months + {plus}': '{name}: {factor} x meses + {plus}',
  '{name}: {factor} x years + {plus}': '{name}: {factor} x anos + {plus}',
  '{kg} kg was estimated from age, and no formula holds for the age known now':
    '{kg} kg foi estimado pela idade, e nenhuma fórmula vale para a idade conhecida agora',
  '{kg} kg was estimated from another age; {formula} gives {now} kg':
    '{kg} kg foi estimado com outra idade; {formula} dá {now} kg',
  '{kg} kg is much for {age} (by age about {expected} kg): kilograms, or pounds?':
    '{kg} kg é muito para {age} (pela idade cerca de {expected} kg): quilogramas ou libras?',
  '{kg} kg is little for {age} (by age about {expected} kg): kilograms, or another unit?':
    '{kg} kg é pouco para {age} (pela idade cerca de {expected} kg): quilogramas ou outra unidade?',
  '{count} months': '{count, plural, one {# mês} other {# meses}}',
  '{count} years': '{count, plural, one {# ano} other {# anos}}',
  'an infant': 'um lactente',
  'for {kg} kg measured': 'para {kg} kg medidos',
  'for {kg} kg by length, an estimate': 'para {kg} kg pela estatura, uma estimativa',
  'for {kg} kg told': 'para {kg} kg referidos',
  'for {kg} kg, estimated from age ({formula})': 'para {kg} kg, estimados pela idade ({formula})',
  'for {kg} kg, estimated from age': 'para {kg} kg, estimados pela idade',
  '{dose} mg/kg {label}': '{dose} mg/kg {label}',
  '{energy} J/kg {label}': '{energy} J/kg {label}',
  'Doses are {label}; {kg} kg {whence}, entered later, does not count. If it should, correct the first entry.':
    'As doses são {label}; {kg} kg {whence}, anotado depois, não conta. Se deve contar, corrija a primeira anotação.',
  'measured': 'medido',
  'by length': 'pela estatura',
  'told': 'referido',
  'estimated from age': 'estimado pela idade',
  'enter the weight first: no dose is shown for a child without one':
    'anotar primeiro o peso: sem ele não se mostra nenhuma dose para uma criança',
  'this protocol\'s doses and energies are an adult\'s: change the protocol':
    'as doses e energias deste protocolo são de adulto: mudar de protocolo',
  'this protocol\'s doses and energies are a child\'s: change the protocol':
    'as doses e energias deste protocolo são de criança: mudar de protocolo',
  '{dose} mg/kg, at most {most} mg; at {strength} mg/mL that is {volume} mL/kg':
    '{dose} mg/kg, no máximo {most} mg; a {strength} mg/mL são {volume} mL/kg',
  '{volume} mL/kg, at most {most} mL': '{volume} mL/kg, no máximo {most} mL',
  'drawn up: {drawn} mg; asked for now: {asked} mg': 'preparado: {drawn} mg; pedido agora: {asked} mg',
  'Epinephrine at {time}: {most}, not counted as a dose of the arrest.':
    'Adrenalina em {time}: {most}, não conta como dose da PCR.',
  '{amount} mg or less': '{amount} mg ou menos',
  'Epinephrine {mg} mg at {time}: more than {times} times the protocol\'s {asked} mg for this patient. Check; correct the record if it was mistyped.':
    'Adrenalina {mg} mg em {time}: mais de {times} vezes os {asked} mg do protocolo para este paciente. Verificar; corrigir o registro se foi erro de digitação.',
  '{circumstance}: {drug} is not offered.': '{circumstance}: {drug} não é oferecido.',
  '{drug} at {time}, before any shockable rhythm: not counted as a dose of the arrest.':
    '{drug} em {time}, antes de qualquer ritmo chocável: não conta como dose da PCR.',
  'Epinephrine before arrival, time not known: taken as given when this code was opened.':
    'Adrenalina antes da chegada, hora desconhecida: tomada como dada na abertura desta ocorrência.',
  'Epinephrine before arrival, told with a time still to come: taken as given when it was told.':
    'Adrenalina antes da chegada, referida com uma hora futura: tomada como dada quando foi referida.',
  '{count} shock before arrival, times not known: counted towards the drugs that follow shocks.':
    '{count} choque antes da chegada, hora desconhecida: conta para os fármacos que seguem os choques.',
  '{count} shocks before arrival, times not known: counted towards the drugs that follow shocks.':
    '{count} choques antes da chegada, horas desconhecidas: contam para os fármacos que seguem os choques.',
  'Antiarrhythmic before arrival, time not known: taken as one dose, given before every shock here.':
    'Antiarrítmico antes da chegada, hora desconhecida: tomado como uma dose, dada antes de todo choque aqui.',
  'Antiarrhythmic before arrival, time not known: taken as {count} doses, given before every shock here.':
    'Antiarrítmico antes da chegada, hora desconhecida: tomado como {count} doses, dadas antes de todo choque aqui.',
  'Biphasic, first shock {energies} J: {rule}': 'Bifásica, primeiro choque {energies} J: {rule}',
  'Biphasic {energies} J: {rule}': 'Bifásica {energies} J: {rule}',
  '{steps}; at most {most} J/kg and {joules} J: {rule}': '{steps}; no máximo {most} J/kg e {joules} J: {rule}',
  'Biphasic, first shock {energies} J: {rule} Monophasic {mono} J.':
    'Bifásica, primeiro choque {energies} J: {rule} Monofásica {mono} J.',
  'Biphasic {energies} J: {rule} Monophasic {mono} J.': 'Bifásica {energies} J: {rule} Monofásica {mono} J.',
  '{steps}; at most {most} J/kg and {joules} J: {rule} Monophasic {mono} J.':
    '{steps}; no máximo {most} J/kg e {joules} J: {rule} Monofásica {mono} J.',
  'from shock {number} on {energy} J/kg': 'a partir do choque {number}: {energy} J/kg',
  'at least {amount}': 'pelo menos {amount}',
  'at most {amount}': 'no máximo {amount}',
  'above {amount}': 'acima de {amount}',
  'below {amount}': 'abaixo de {amount}',
  'not above {amount}': 'não acima de {amount}',
  'above {low} to {high}': 'acima de {low} a {high}',
  'below {low} to {high}': 'abaixo de {low} a {high}',
  '{charged} J is charged; there is no weight to hold it against': '{charged} J carregados; não há peso com que comparar',
  '{charged} J is charged; the most for this weight is {most} J':
    '{charged} J carregados; o máximo para este peso é {most} J',
  '{charged} J is charged; the protocol asks for {wanted} J': '{charged} J carregados; o protocolo pede {wanted} J',
  'Witnessed, monitored, no shock before: up to {count} shocks in quick succession. Compressions in between end the stack.':
    'Presenciada, monitorizada, sem choque antes: até {count} choques seguidos. Compressões entre eles terminam a série.',
  '{rate} a minute for an infant': '{rate} por minuto para um lactente',
  '{rate} a minute for {years} years and over': '{rate} por minuto a partir de {years} anos',
  'the age is not entered, the youngest of the group is assumed': 'a idade não foi anotada, presume-se a menor do grupo',
  'enter the age: the youngest of the group is assumed': 'anotar a idade: presume-se a menor do grupo',
  'one breath each {fast} to {slow} s, {low} to {high} a minute':
    'uma ventilação a cada {fast} a {slow} s, {low} a {high} por minuto',
  'below {c} °C': 'abaixo de {c} °C',
  'from {c} °C': 'a partir de {c} °C',
  'from {low} to below {high} °C': 'de {low} a menos de {high} °C',
  '{circumstance}, no core temperature known: drugs and shocks by the standard plan.':
    '{circumstance}, temperatura central desconhecida: fármacos e choques pelo plano habitual.',
  'Core temperature {value} °C, {band}: intervals between doses doubled.':
    'Temperatura central {value} °C, {band}: intervalos entre doses dobrados.',
  'Core temperature {value} °C, {band}: no drugs.': 'Temperatura central {value} °C, {band}: sem fármacos.',
  '{count} shocks given; at most {most} {band}: none is asked for until the patient is warmer.':
    '{count} choques aplicados; no máximo {most} {band}: nenhum é pedido até o paciente estar mais quente.',
  '{cold} {band} withholds drugs; {other} asks for: {wanted}. The plan withholds it; the team leader decides.':
    '{cold} {band} suspende os fármacos; {other} pede: {wanted}. O plano suspende; o líder decide.',
  'epinephrine at once': 'adrenalina já',
  'core temperature {amount}': 'temperatura central {amount}',
  'This protocol says nothing of {circumstance}: the plan is the standard one.':
    'Este protocolo não diz nada de {circumstance}: o plano é o habitual.',
  '{circumstance}, {weeks} weeks: not asked below {from} weeks: {tasks}.':
    '{circumstance}, {weeks} semanas: não se pede abaixo de {from} semanas: {tasks}.',
  '{title}, begun at {time}: on to {from} to {to}.': '{title}, iniciada em {time}: seguir até {from} a {to}.',
  'to {from} to {to}': 'até {from} a {to}',
  'Death declared {time} after recognition; the code is open until somebody closes it.':
    'Óbito declarado {time} depois do reconhecimento; a ocorrência fica aberta até alguém a encerrar.',
  'SpO2 {amount}': 'SpO₂ {amount}',
  'PaCO2 {amount} ({other})': 'PaCO₂ {amount} ({other})',
  'systolic {amount}': 'sistólica {amount}',
  'diastolic {amount}': 'diastólica {amount}',
  'mean {amount}': 'média {amount}',
  'glucose {amount}': 'glicemia {amount}',
  'potassium {amount}': 'potássio {amount}',
  'The disk is slow: what was just entered is not saved yet.':
    'O disco está lento: o que acabou de ser anotado ainda não foi guardado.',
  'The disk does not take records: what was just entered is not saved yet.':
    'O disco não aceita registros: o que acabou de ser anotado ainda não foi guardado.',
  'ECMO started: compressions and drugs go on by the protocol until return of circulation is recorded or the code is closed; the team decides.':
    'ECMO iniciada: compressões e fármacos continuam pelo protocolo até que se anote a RCE ou se encerre a ocorrência; a equipe decide.',
  'oxygenation': 'oxigenação',
  'lactate {amount}': 'lactato {amount}',
  'pH {amount}': 'pH {amount}',
};
