//! Sentences that come from the server, in French: those of the shipped protocol files as they stand there, and those that
//! the engine composes, with places. How they are found is in `../said.ts`; the numbers in them are the protocol's.
import type { Sentences } from '../said';

export const fr: Sentences = {
  'Adult cardiac arrest (AHA)': 'ACR de l’adulte (AHA)',
  'Cardiac arrest of a child or infant (AHA)': 'ACR de l’enfant ou du nourrisson (AHA)',
  'Adult cardiac arrest (ERC)': 'ACR de l’adulte (ERC)',
  'Cardiac arrest of a child or infant (ERC)': 'ACR de l’enfant ou du nourrisson (ERC)',
  'the maker\'s dose; unknown: the maximum. Later shocks equal or higher.':
    'la dose du fabricant ; inconnue : le maximum. Chocs suivants égaux ou plus forts.',
  'later shocks may be higher, up to the adult dose. Set the next setting up.':
    'les chocs suivants peuvent être plus forts, jusqu’à la dose adulte. Choisir le réglage supérieur.',
  'pulsed biphasic 120 to 150 J. Escalate if a shock fails and the device can.':
    'biphasique pulsé 120 à 150 J. Augmenter si un choc échoue et si l’appareil le permet.',
  'set the next setting up.': 'choisir le réglage supérieur.',
  'set the next setting up': 'choisir le réglage supérieur',
  'Shocks do not end the rhythm: the use of moving the pads or of two defibrillators is not established (AHA 2025).':
    'Les chocs n’arrêtent pas ce rythme : l’utilité de déplacer les électrodes ou de deux défibrillateurs n’est pas établie (AHA 2025).',
  'Three shocks given, the last look still shockable: check the pads\' place; consider antero-posterior pads (ERC 2025). Two defibrillators in sequence: research only.':
    'Trois chocs délivrés, le dernier rythme reste choquable : vérifier la place des électrodes ; envisager la position antéro-postérieure (ERC 2025). Deux défibrillateurs en séquence : recherche seulement.',
  'Hypovolaemia': 'Hypovolémie',
  'Hypoxia': 'Hypoxie',
  'Hydrogen ion (acidosis)': 'Ions hydrogène (acidose)',
  'Hypo- or hyperkalaemia': 'Hypo- ou hyperkaliémie',
  'Hypothermia': 'Hypothermie',
  'Tension pneumothorax': 'Pneumothorax suffocant',
  'Tamponade, cardiac': 'Tamponnade cardiaque',
  'Toxins': 'Toxiques',
  'Thrombosis, pulmonary': 'Thrombose pulmonaire',
  'Thrombosis, coronary': 'Thrombose coronaire',
  'Hypoglycaemia': 'Hypoglycémie',
  'Hypo- or hyperkalaemia, other metabolic (glucose, calcium, acid)':
    'Hypo- ou hyperkaliémie, autres métaboliques (glucose, calcium, acide)',
  'Hypo- or hyperthermia': 'Hypo- ou hyperthermie',
  'Thrombosis, coronary or pulmonary': 'Thrombose coronaire ou pulmonaire',
  '12-lead ECG': 'ECG 12 dérivations',
  'Oxygen saturation': 'Saturation en oxygène',
  'Carbon dioxide': 'Dioxyde de carbone',
  'Blood pressure': 'Pression artérielle',
  'Temperature': 'Température',
  'Glucose': 'Glycémie',
  'as soon as feasible': 'dès que possible',
  'constant, for at least 24 h': 'constante, au moins 24 h',
  'measure; treat by local policy': 'mesurer ; traiter selon les règles locales',
  'measure; normal for this child, by local policy': 'mesurer ; normale pour cet enfant, selon les règles locales',
  'aim: systolic and mean above the 10th centile for age and sex, by your table':
    'cible : systolique et moyenne au-dessus du 10e percentile pour l’âge et le sexe, selon votre table',
  'treat by local policy': 'traiter selon les règles locales',
  'by local policy': 'selon les règles locales',
  'prevent fever for at least 72 h': 'prévenir la fièvre au moins 72 h',
  'aim: normal for the age, by your table': 'cible : normale pour l’âge, selon votre table',
  'avoid fever, by local policy': 'éviter la fièvre, selon les règles locales',
  'After 20 min an ETCO2 that never rose above 10 mmHg counts only with a tracheal tube in, and only as one part of a multimodal decision.':
    'Après 20 min, une ETCO₂ jamais montée au-dessus de 10 mmHg ne compte qu’avec une sonde trachéale en place, et seulement comme un élément d’une décision multimodale.',
  'No validated rule says when an arrest in hospital should end: the team decides.':
    'Aucune règle validée ne dit quand un ACR à l’hôpital devrait finir : l’équipe décide.',
  'In a child no ETCO2 value is advised as a limit for deciding about ending.':
    'Chez l’enfant, aucune valeur d’ETCO₂ n’est conseillée comme limite pour décider de la fin.',
  'Asystole for more than 20 min of ALS without a reversible cause is one prognostic sign among several.':
    'Une asystolie de plus de 20 min sous réanimation spécialisée sans cause réversible est un signe pronostique parmi d’autres.',
  'Pregnancy': 'Grossesse',
  'Opioid': 'Opioïdes',
  'Hyperkalaemia': 'Hyperkaliémie',
  'Drowning': 'Noyade',
  'Anaphylaxis': 'Anaphylaxie',
  'Trauma': 'Traumatisme',
  'Pulmonary embolism': 'Embolie pulmonaire',
  'Local-anaesthetic toxicity': 'Toxicité d’anesthésique local',
  'Treatment limit found': 'Limitation de soins trouvée',
  'Monophasic defibrillator': 'Défibrillateur monophasique',
  'above the diaphragm': 'au-dessus du diaphragme',
  'Push uterus left by hand': 'Refouler l’utérus à gauche à la main',
  'Prepare delivery here': 'Préparer l’extraction ici',
  'Decide on delivery': 'Décider de l’extraction',
  'Delivery': 'Naissance',
  'Stop magnesium, if it runs': 'Arrêter le magnésium, s’il passe',
  'Calcium, if magnesium ran': 'Calcium, si du magnésium est passé',
  'Measure the core temperature': 'Mesurer la température centrale',
  'Rewarm': 'Réchauffer',
  'Open the airway, ventilate': 'Libérer les voies aériennes, ventiler',
  'Naloxone': 'Naloxone',
  'Calcium IV': 'Calcium IV',
  'Insulin with glucose': 'Insuline avec glucose',
  'Glucose 10 % infusion': 'Perfusion de glucose 10 %',
  'Control bleeding, give volume': 'Contrôler l’hémorragie, remplir',
  'Airway and oxygen': 'Voies aériennes et oxygène',
  'Decompress the chest': 'Décomprimer le thorax',
  'Tamponade': 'Tamponnade',
  'Consider thrombolysis': 'Envisager la thrombolyse',
  'Stop the local anaesthetic': 'Arrêter l’anesthésique local',
  'Lipid emulsion 20 %': 'Émulsion lipidique 20 %',
  'Calcium chloride 10 %': 'Chlorure de calcium 10 %',
  'After lysis CPR goes on': 'Après thrombolyse, la RCP continue',
  'all the time, fundus at or above the umbilicus': 'en permanence, fond utérin à l’ombilic ou au-dessus',
  'call obstetric and neonatal teams now': 'appeler maintenant obstétrique et néonatologie',
  'no circulation at 4 min': 'pas de circulation à 4 min',
  'within 5 min of the arrest': 'dans les 5 min après l’ACR',
  'then calcium': 'puis calcium',
  'only after magnesium': 'seulement après magnésium',
  'oesophagus, bladder or rectum; repeat as the patient warms':
    'œsophage, vessie ou rectum ; répéter pendant le réchauffement',
  'beside CPR, by local means': 'en plus de la RCP, avec les moyens locaux',
  'CPR first': 'la RCP d’abord',
  'never delays CPR': 'ne retarde jamais la RCP',
  'with standard care': 'avec les soins habituels',
  'after calcium': 'après le calcium',
  'glucose below 7.0 mmol/L': 'glycémie au-dessous de 7 mmol/L',
  'hypovolaemia first': 'l’hypovolémie d’abord',
  'both sides, tension pneumothorax': 'des deux côtés, pneumothorax suffocant',
  'relieve it; thoracotomy if the skill is here': 'l’évacuer ; thoracotomie si la compétence est présente',
  'record the drug when it is given': 'noter le médicament quand il est donné',
  'every infusion and pump of it': 'toute perfusion et pompe qui en contient',
  'bolus, with standard care': 'bolus, avec les soins habituels',
  'IV, with standard care': 'IV, avec les soins habituels',
  'dose by local protocol': 'dose selon le protocole local',
  'dose and route (IV, IO, IM, intranasal) by local protocol':
    'dose et voie (IV, IO, IM, intranasale) selon le protocole local',
  'salt and dose by local protocol': 'sel et dose selon le protocole local',
  '10 units with glucose 25 g': '10 unités avec 25 g de glucose',
  'rate by local protocol': 'débit selon le protocole local',
  'by weight, by local protocol': 'selon le poids, par le protocole local',
  'Pregnancy: shock energies and drug doses as always; no fetal monitor.':
    'Grossesse : énergies et doses comme toujours ; pas de monitorage fœtal.',
  'Delivered: two patients now. The newborn needs a team of its own.':
    'Né : deux patients maintenant. Le nouveau-né a besoin de sa propre équipe.',
  'Hypothermia: standard shocks and epinephrine at any temperature, beside rewarming.':
    'Hypothermie : chocs et adrénaline habituels à toute température, en plus du réchauffement.',
  'Not dead until warm, unless there are obvious lethal signs.':
    'Pas mort tant qu’il n’est pas réchauffé, sauf signes létaux évidents.',
  'Before compressions begin, WMS 2019 feels for the pulse for up to 1 min; once they run, the usual limit holds.':
    'Avant le début du massage, WMS 2019 cherche le pouls jusqu’à 1 min ; une fois débuté, la limite habituelle vaut.',
  'WMS 2019 speaks of ending in adults with a potassium above 12 mmol/L. Information: the leader decides.':
    'WMS 2019 parle de fin chez l’adulte avec un potassium au-dessus de 12 mmol/L. Information : le leader décide.',
  'Opioid with a pulse and no breathing: ventilate, and naloxone.':
    'Opioïdes avec pouls et sans respiration : ventiler, et naloxone.',
  'Dialysis: disconnect before a shock, unless the machine is defibrillator-proof (UKKA 2023).':
    'Dialyse : débrancher avant un choc, sauf si la machine résiste à la défibrillation (UKKA 2023).',
  'IM epinephrine before the arrest is not an arrest dose: the plan counts IV and IO doses only.':
    'L’adrénaline IM avant l’ACR n’est pas une dose de l’ACR : le plan ne compte que les doses IV et IO.',
  'Thoracotomy is seldom useful later than 10 min (ANZCOR), 15 min (ERC).':
    'La thoracotomie est rarement utile après 10 min (ANZCOR), 15 min (ERC).',
  'Monophasic defibrillator: a child\'s energy by weight stays as it is.':
    'Défibrillateur monophasique : l’énergie selon le poids de l’enfant ne change pas.',
  'rescue breathing from the start, not compressions alone': 'ventiler dès le début, pas le massage seul',
  'then 30:2; compressions that run go on': 'puis 30:2 ; le massage en cours continue',
  'then 15:2; compressions that run go on': 'puis 15:2 ; le massage en cours continue',
  'Anaphylaxis asks for epinephrine at once; trauma puts reversible causes before it. The plan asks for both; the leader decides.':
    'L’anaphylaxie demande l’adrénaline tout de suite ; le traumatisme fait passer avant les causes réversibles. Le plan demande les deux ; le leader décide.',
  'Thrombolysis for pulmonary embolism against bleeding in trauma: the plan shows both; the leader decides.':
    'Thrombolyse pour embolie pulmonaire contre hémorragie du traumatisme : le plan montre les deux ; le leader décide.',
  'Thrombolysis for pulmonary embolism against delivery in pregnancy (bleeding): the plan shows both; the leader decides.':
    'Thrombolyse pour embolie pulmonaire contre extraction pendant la grossesse (hémorragie) : le plan montre les deux ; le leader décide.',
  'an order that limits treatment was found: what does it mean now?':
    'une consigne de limitation de soins a été trouvée : que signifie-t-elle maintenant ?',
  '{name}: {factor} x months + {plus}': '{name} : {factor} x mois + {plus}',
  '{name}: {factor} x years + {plus}': '{name} : {factor} x années + {plus}',
  '{kg} kg was estimated from age, and no formula holds for the age known now':
    '{kg} kg a été estimé d’après l’âge, et aucune formule ne vaut pour l’âge connu maintenant',
  '{kg} kg was estimated from another age; {formula} gives {now} kg':
    '{kg} kg a été estimé d’après un autre âge ; {formula} donne {now} kg',
  '{kg} kg is much for {age} (by age about {expected} kg): kilograms, or pounds?':
    '{kg} kg est beaucoup pour {age} (selon l’âge environ {expected} kg) : kilogrammes ou livres ?',
  '{kg} kg is little for {age} (by age about {expected} kg): kilograms, or another unit?':
    '{kg} kg est peu pour {age} (selon l’âge environ {expected} kg) : kilogrammes ou une autre unité ?',
  '{count} months': '{count, plural, one {# mois} other {# mois}}',
  '{count} years': '{count, plural, one {# an} other {# ans}}',
  'an infant': 'un nourrisson',
  'for {kg} kg measured': 'pour {kg} kg mesurés',
  'for {kg} kg by length, an estimate': 'pour {kg} kg par la taille, une estimation',
  'for {kg} kg told': 'pour {kg} kg indiqués',
  'for {kg} kg, estimated from age ({formula})': 'pour {kg} kg, estimés d’après l’âge ({formula})',
  'for {kg} kg, estimated from age': 'pour {kg} kg, estimés d’après l’âge',
  '{dose} mg/kg {label}': '{dose} mg/kg {label}',
  '{energy} J/kg {label}': '{energy} J/kg {label}',
  'Doses are {label}; {kg} kg {whence}, entered later, does not count. If it should, correct the first entry.':
    'Les doses sont {label} ; {kg} kg {whence}, noté plus tard, ne compte pas. S’il doit compter, corrigez la première saisie.',
  'measured': 'mesuré',
  'by length': 'par la taille',
  'told': 'indiqué',
  'estimated from age': 'estimé d’après l’âge',
  'enter the weight first: no dose is shown for a child without one':
    'noter d’abord le poids : sans lui, aucune dose n’est montrée pour un enfant',
  'this protocol\'s doses and energies are an adult\'s: change the protocol':
    'les doses et énergies de ce protocole sont celles d’un adulte : changer de protocole',
  'this protocol\'s doses and energies are a child\'s: change the protocol':
    'les doses et énergies de ce protocole sont celles d’un enfant : changer de protocole',
  '{dose} mg/kg, at most {most} mg; at {strength} mg/mL that is {volume} mL/kg':
    '{dose} mg/kg, au plus {most} mg ; à {strength} mg/mL cela fait {volume} mL/kg',
  '{volume} mL/kg, at most {most} mL': '{volume} mL/kg, au plus {most} mL',
  'drawn up: {drawn} mg; asked for now: {asked} mg': 'préparé : {drawn} mg ; demandé maintenant : {asked} mg',
  'Epinephrine at {time}: {most}, not counted as a dose of the arrest.':
    'Adrénaline à {time} : {most}, non comptée comme dose de l’ACR.',
  '{amount} mg or less': '{amount} mg ou moins',
  'Epinephrine {mg} mg at {time}: more than {times} times the protocol\'s {asked} mg for this patient. Check; correct the record if it was mistyped.':
    'Adrénaline {mg} mg à {time} : plus de {times} fois les {asked} mg du protocole pour ce patient. Vérifier ; corriger le relevé si c’est une faute de saisie.',
  '{circumstance}: {drug} is not offered.': '{circumstance} : {drug} n’est pas proposé.',
  '{drug} at {time}, before any shockable rhythm: not counted as a dose of the arrest.':
    '{drug} à {time}, avant tout rythme choquable : non compté comme dose de l’ACR.',
  'Epinephrine before arrival, time not known: taken as given when this code was opened.':
    'Adrénaline avant l’arrivée, heure inconnue : prise comme donnée à l’ouverture de l’intervention.',
  'Epinephrine before arrival, told with a time still to come: taken as given when it was told.':
    'Adrénaline avant l’arrivée, indiquée avec une heure à venir : prise comme donnée quand elle a été indiquée.',
  '{count} shock before arrival, times not known: counted towards the drugs that follow shocks.':
    '{count} choc avant l’arrivée, heure inconnue : compté pour les médicaments qui suivent les chocs.',
  '{count} shocks before arrival, times not known: counted towards the drugs that follow shocks.':
    '{count} chocs avant l’arrivée, heures inconnues : comptés pour les médicaments qui suivent les chocs.',
  'Antiarrhythmic before arrival, time not known: taken as one dose, given before every shock here.':
    'Antiarythmique avant l’arrivée, heure inconnue : pris comme une dose, donnée avant tout choc ici.',
  'Antiarrhythmic before arrival, time not known: taken as {count} doses, given before every shock here.':
    'Antiarythmique avant l’arrivée, heure inconnue : pris comme {count} doses, données avant tout choc ici.',
  'Biphasic, first shock {energies} J: {rule}': 'Biphasique, premier choc {energies} J : {rule}',
  'Biphasic {energies} J: {rule}': 'Biphasique {energies} J : {rule}',
  '{steps}; at most {most} J/kg and {joules} J: {rule}': '{steps} ; au plus {most} J/kg et {joules} J : {rule}',
  'Biphasic, first shock {energies} J: {rule} Monophasic {mono} J.':
    'Biphasique, premier choc {energies} J : {rule} Monophasique {mono} J.',
  'Biphasic {energies} J: {rule} Monophasic {mono} J.': 'Biphasique {energies} J : {rule} Monophasique {mono} J.',
  '{steps}; at most {most} J/kg and {joules} J: {rule} Monophasic {mono} J.':
    '{steps} ; au plus {most} J/kg et {joules} J : {rule} Monophasique {mono} J.',
  'from shock {number} on {energy} J/kg': 'à partir du choc {number} : {energy} J/kg',
  'at least {amount}': 'au moins {amount}',
  'at most {amount}': 'au plus {amount}',
  'above {amount}': 'plus de {amount}',
  'below {amount}': 'moins de {amount}',
  'not above {amount}': 'pas plus de {amount}',
  'above {low} to {high}': 'au-dessus de {low} à {high}',
  'below {low} to {high}': 'au-dessous de {low} à {high}',
  '{charged} J is charged; there is no weight to hold it against':
    '{charged} J sont chargés ; aucun poids pour les comparer',
  '{charged} J is charged; the most for this weight is {most} J':
    '{charged} J sont chargés ; le maximum pour ce poids est {most} J',
  '{charged} J is charged; the protocol asks for {wanted} J': '{charged} J sont chargés ; le protocole demande {wanted} J',
  'Witnessed, monitored, no shock before: up to {count} shocks in quick succession. Compressions in between end the stack.':
    'Devant témoin, sous moniteur, sans choc avant : jusqu’à {count} chocs de suite. Un massage entre eux termine la série.',
  '{rate} a minute for an infant': '{rate} par minute pour un nourrisson',
  '{rate} a minute for {years} years and over': '{rate} par minute à partir de {years} ans',
  'the age is not entered, the youngest of the group is assumed':
    'l’âge n’est pas noté, le plus jeune du groupe est supposé',
  'enter the age: the youngest of the group is assumed': 'noter l’âge : le plus jeune du groupe est supposé',
  'one breath each {fast} to {slow} s, {low} to {high} a minute':
    'une insufflation toutes les {fast} à {slow} s, {low} à {high} par minute',
  'below {c} °C': 'au-dessous de {c} °C',
  'from {c} °C': 'à partir de {c} °C',
  'from {low} to below {high} °C': 'de {low} à moins de {high} °C',
  '{circumstance}, no core temperature known: drugs and shocks by the standard plan.':
    '{circumstance}, température centrale inconnue : médicaments et chocs selon le plan habituel.',
  'Core temperature {value} °C, {band}: intervals between doses doubled.':
    'Température centrale {value} °C, {band} : intervalles entre doses doublés.',
  'Core temperature {value} °C, {band}: no drugs.': 'Température centrale {value} °C, {band} : pas de médicaments.',
  '{count} shocks given; at most {most} {band}: none is asked for until the patient is warmer.':
    '{count} chocs délivrés ; au plus {most} {band} : aucun n’est demandé tant que le patient n’est pas plus chaud.',
  '{cold} {band} withholds drugs; {other} asks for: {wanted}. The plan withholds it; the team leader decides.':
    '{cold} {band} suspend les médicaments ; {other} demande : {wanted}. Le plan le suspend ; le leader décide.',
  'epinephrine at once': 'adrénaline tout de suite',
  'core temperature {amount}': 'température centrale {amount}',
  'This protocol says nothing of {circumstance}: the plan is the standard one.':
    'Ce protocole ne dit rien de : {circumstance}. Le plan est le plan habituel.',
  '{circumstance}, {weeks} weeks: not asked below {from} weeks: {tasks}.':
    '{circumstance}, {weeks} semaines : non demandé au-dessous de {from} semaines : {tasks}.',
  '{title}, begun at {time}: on to {from} to {to}.': '{title}, débutée à {time} : continuer jusqu’à {from} à {to}.',
  'to {from} to {to}': 'jusqu’à {from} à {to}',
  'Death declared {time} after recognition; the code is open until somebody closes it.':
    'Décès déclaré {time} après la constatation ; l’intervention reste ouverte jusqu’à ce que quelqu’un la close.',
  'SpO2 {amount}': 'SpO₂ {amount}',
  'PaCO2 {amount} ({other})': 'PaCO₂ {amount} ({other})',
  'systolic {amount}': 'systolique {amount}',
  'diastolic {amount}': 'diastolique {amount}',
  'mean {amount}': 'moyenne {amount}',
  'glucose {amount}': 'glycémie {amount}',
  'potassium {amount}': 'potassium {amount}',
  'The disk is slow: what was just entered is not saved yet.':
    'Le disque est lent : la dernière saisie n’est pas encore enregistrée.',
  'The disk does not take records: what was just entered is not saved yet.':
    'Le disque n’accepte rien : la dernière saisie n’est pas encore enregistrée.',
  'ECMO started: compressions and drugs go on by the protocol until return of circulation is recorded or the code is closed; the team decides.':
    'ECMO débutée : massage et médicaments continuent selon le protocole jusqu’à ce que la RACS soit notée ou l’intervention close ; l’équipe décide.',
  'oxygenation': 'oxygénation',
  'lactate {amount}': 'lactate {amount}',
  'pH {amount}': 'pH {amount}',
};
