// Spanish words about the gun, the ground, the oven and the work to come.

import type { gun as englishGun, today as englishToday } from './gun.en';
import { plural } from './plural';

export const gun: typeof englishGun = {
  title: 'Pistola y tierra', inUse: 'Ajuste en uso', noSetup: 'Esta tanda no nombra ningún ajuste.', setups: 'Ajustes para esta pintura', noSetups: 'Aún ninguno para esta pintura.', addSetup: 'Ajuste nuevo',
  worked: 'funcionó', never: 'aún no funcionó', runs: (n) => `${n} ${plural('es', n, 'tanda', 'tandas')}`, change: 'Cambiar este ajuste',
  ground: 'Tierra', groundGood: 'En orden', groundBad: 'No está en orden', groundNever: 'Aún no se anotó ninguna comprobación.', checked: (when, who) => `${when}, ${who}`, checkGround: 'Comprobar la tierra',
  outputs: 'Cuánto da la pistola', noOutputs: 'Aún no hay prueba pesada de esta pintura.', main: 'Aire principal', flow: 'Salida', when: 'Cuándo',
  deposits: 'Cuánto queda en las piezas', noDeposits: 'Aún no hay prueba pesada de esta pintura.', te: 'Primera pasada',
  cures: 'Horno', noCures: 'Aún no hay curva en esta tanda.', cure: (above, from) => `${above} a ${from} o más`, asked: (m) => `se piden ${m}`, peak: (t) => `máximo ${t}`,
  verdicts: { cure_good: 'suficiente', cure_under: 'demasiado corto', cure_over: 'demasiado largo' },
  bestFlow: 'Buscar el mejor caudal', advice: 'Consejo para un defecto en la pieza',
  climate: 'Clima', noClimate: 'Aún no se leyó nada.', wholeStore: 'Todo el almacén', readClimate: 'Leer el clima',
};

export const today: typeof englishToday = {
  title: 'Hoy', under: 'Colores por venir, en el orden que menos limpia', plan: 'Planear un trabajo', none: 'Ningún trabajo planeado.', noneHint: 'Planee trabajos con su pintura y su día; de ahí sale el orden de colores.',
  both: 'Todas las cabinas', now: (name) => `${name} está en la pistola`, nothing: 'No hay nada en la pistola', minutes: (n) => `${n} min de limpieza en total`, noChange: 'sin cambio', step: (level, n) => `${level}, unos ${n} min`,
  due: (d) => `para el ${d}`, overdue: 'atrasado', noDue: 'sin día', done: (n, of) => `${n} de ${of}`, need: 'necesita', stock: 'en existencia', short: 'no alcanza', begin: 'Cambiar a este color', complete: 'Completos',
  why: 'Por el día en que vencen; los colores de un mismo día, en el orden con menos minutos de limpieza.',
};
