import { expect, test } from 'vitest';
import { causesDone } from './causes';

const causes = [{ id: 'thrombosis', also: ['thrombosis_pulmonary'] }, { id: 'hypoxia' }, { id: 'toxins' }];
const record = (id: string, kind: string, rest: object) => ({ id, event: { kind, ...rest } });

test('a cause is known under the word of the guideline that the code ran under before', () => {
  const timeline = [
    record('a', 'cause_considered', { cause: 'hypoxia' }),
    record('b', 'cause_treated', { cause: 'thrombosis_pulmonary' }),
    record('c', 'cause_considered', { cause: 'thrombosis' }),
    record('d', 'cause_treated', { cause: 'nobody_lists_this' }),
  ];
  expect([...causesDone(timeline, causes)]).toEqual([['hypoxia', 'considered'], ['thrombosis', 'treated']]);
});

test('what was struck out was not done', () => {
  const timeline = [record('a', 'cause_treated', { cause: 'toxins' }), record('b', 'voided', { target: 'a', reason: 'slip' })];
  expect(causesDone(timeline, causes).size).toBe(0);
});
