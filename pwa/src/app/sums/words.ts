// Words of the calculations: titles, what they answer, their fields and codes. What a
// calculation answers the core says itself in English.

import { fields } from './field-words';
import type { Pairs } from './pairs';
import { values } from './value-words';

type Lang = 'en' | 'es';

// Title in both languages, and in Spanish what it answers (English: the core's own sentence).
const calcs: Readonly<Record<string, readonly [en: string, es: string, about: string]>> = {
  'booth.changecost': ['Cost of a colour change', 'Coste de un cambio de color', 'Qué cuesta un cambio de color.'],
  'booth.changetime': [
    'Time of a colour change',
    'Tiempo de un cambio de color',
    'Cuánto tardará un cambio: la media del taller, acercada a la regla mientras haya pocos.',
  ],
  'booth.cleaning': [
    'Cleaning between two powders',
    'Limpieza entre dos pinturas',
    'Hasta dónde limpiar una cabina entre dos pinturas, y por qué.',
  ],
  'booth.dust': [
    'Dust in the exhaust air',
    'Polvo en el aire de extracción',
    'Cuánta pintura lleva el aire, frente a qué límite, y cuánto aire o cuántas pistolas lo cumplen.',
  ],
  'booth.order': [
    'Order of the day’s colours',
    'Orden de los colores del día',
    'El orden, y con dos cabinas el reparto, con menos coste de cambios y retrasos.',
  ],
  'coating.activation': [
    'Activation energy',
    'Energía de activación',
    'La energía de activación que dan dos puntos de la ficha.',
  ],
  'coating.capability': [
    'Capability of the film',
    'Capacidad de la película',
    'Media, desviación, Cp y Cpk de las lecturas, con intervalos de confianza.',
  ],
  'coating.chart': [
    'Chart of single readings',
    'Gráfico de lecturas',
    'Los límites de un gráfico de lecturas en el orden en que se tomaron.',
  ],
  'coating.coverage': ['Coverage', 'Rendimiento', 'Cuánto cubre un kilo o una libra de pintura con una película.'],
  'coating.cure': [
    'Cure from a logged curve',
    'Curado según la curva',
    'Si la temperatura medida ha curado la pintura: tiempo a temperatura, minutos equivalentes y juicio.',
  ],
  'coating.equivalent': [
    'Equivalent cure time',
    'Tiempo de curado equivalente',
    'El tiempo a otra temperatura del metal que cura lo mismo.',
  ],
  'coating.excess': [
    'Cost of excess film',
    'Coste del exceso de película',
    'Qué cuesta la película por encima del objetivo, en pintura y dinero.',
  ],
  'coating.film': [
    'Accept a film',
    'Aceptar una película',
    'Si una película es aceptable según la regla de una norma, y por qué no.',
  ],
  'coating.mix': [
    'Specific gravity of a mixture',
    'Peso específico de una mezcla',
    'El peso específico de una mezcla.',
  ],
  'coating.need': [
    'Powder for a job',
    'Pintura para un trabajo',
    'La pintura que comprar para un trabajo, en cajas enteras, y su coste.',
  ],
  'coating.run-transfer': [
    'Transfer efficiency of a run',
    'Eficiencia de una tanda',
    'Eficiencia de primera pasada por área, película y pintura pulverizada, con su incertidumbre.',
  ],
  'coating.sampling': [
    'How many readings',
    'Cuántas lecturas',
    'Cuántas zonas, puntos y lecturas pide una superficie.',
  ],
  'coating.standard': [
    'Film by a standard',
    'Película según una norma',
    'Si una película es la que pide una norma de arquitectura, y por qué no.',
  ],
  'coating.transfer': [
    'Transfer efficiency, weighed',
    'Eficiencia de transferencia, pesada',
    'Eficiencia de primera pasada de una prueba pesada, con su incertidumbre.',
  ],
  'gun.advice': [
    'Advice for a symptom',
    'Consejo para un defecto',
    'Qué cambiar del ajuste frente a un defecto, una cosa cada vez.',
  ],
  'gun.flow': [
    'Best powder flow',
    'Mejor caudal de pintura',
    'El caudal con menos coste por pieza, la curva entera y lo plana que es.',
  ],
  'gun.hose': [
    'Does the hose carry it?',
    '¿Transporta la manguera?',
    'Si la manguera transporta o da tirones, y lo más que lleva.',
  ],
  'gun.output': [
    'Output of the gun',
    'Caudal de la pistola',
    'Qué sale con un aire principal, o qué aire da un caudal, según pruebas pesadas.',
  ],
  'gun.setup': [
    'Set-up to start from',
    'Ajuste de partida',
    'Qué ajustes probar para una pintura, un tipo de pieza y una cabina; primero el último que funcionó.',
  ],
  'reclaim.charge': [
    'Mix a charge',
    'Mezclar una carga',
    'Cuánto recuperado y virgen hacen una carga de una masa y una parte dadas.',
  ],
  'reclaim.choose': [
    'Choose bins and lots',
    'Elegir depósitos y lotes',
    'Qué depósitos y lotes hacen una carga dentro de los límites: más recuperado y luego menos pasadas.',
  ],
  'reclaim.passes': [
    'Pass by pass',
    'Pasada a pasada',
    'Qué proporción de la alimentación va por cada pasada, y cuánto de una carga virgen está en piezas tras cada una.',
  ],
  'reclaim.settle': [
    'Reclaim over time',
    'Recuperado con el tiempo',
    'La parte de recuperado tras pulverizar la alimentación varias veces, y cuándo se estabiliza.',
  ],
  'reclaim.sizes': [
    'Particle sizes of a mixture',
    'Granulometría de una mezcla',
    'La curva de tamaños, d10, d50 y d90, y la parte de finos.',
  ],
  'reclaim.steady': [
    'Settled closed loop',
    'Circuito cerrado estable',
    'Cómo marcha un circuito cerrado una vez estable, con o sin tope de recuperado.',
  ],
  'reclaim.topup': [
    'Top up a hopper',
    'Rellenar una tolva',
    'Cuánto recuperado y virgen llenan una tolva sin pasar la parte que admite la pintura.',
  ],
  'reclaim.ways': [
    'To waste, collect or loop?',
    '¿Desecho, recogida o circuito?',
    'Qué cuesta un trabajo a desecho, recogiendo y en circuito cerrado, lado a lado.',
  ],
  'reclaim.worth': [
    'When collecting pays',
    'Cuándo compensa recoger',
    'Desde cuánta pintura, área o piezas compensa el cambio más caro de recoger.',
  ],
  'reconcile.balance': [
    'Do the weighings fit?',
    '¿Cuadran las pesadas?',
    'Qué fueron con más probabilidad unas medidas que deben cuadrar, si encajan y cuál parece errónea.',
  ],
  'reconcile.run': [
    'Close a run',
    'Cuadrar una tanda',
    'Si las pesadas de una tanda encajan, qué fueron con más probabilidad, qué se perdió y cuál parece errónea.',
  ],
  'stock.count': ['Stock count', 'Recuento', 'Qué halló un recuento frente a los libros, en masa y dinero.'],
  'stock.label': [
    'Read a box label',
    'Leer una etiqueta',
    'Qué dice la etiqueta de una caja: lote, fecha, masa neta y lo demás.',
  ],
  'stock.reorder': ['When to order', 'Cuándo pedir', 'Cuándo pedir una pintura y cuántas cajas.'],
  'stock.shelf': [
    'Shelf life',
    'Caducidad',
    'Hasta cuándo se puede usar una pintura, y cuánto antes tras días de calor.',
  ],
  'stock.usefirst': ['Which lot first', 'Qué lote primero', 'Qué lotes usar y en qué orden, y cuánto de cada uno.'],
};

const side = { en: 0, es: 1 } as const;

// first gives the word of the first key that has one.
function first(table: Pairs, lang: Lang, ...keys: string[]): string | undefined {
  return keys.map((key) => table[key]?.[side[lang]]).find((word) => word !== undefined);
}

export const calcTitle = (name: string, lang: Lang): string | undefined => calcs[name]?.[side[lang]];
export const calcAbout = (name: string, lang: Lang): string | undefined =>
  lang === 'es' ? calcs[name]?.[2] : undefined;
export const fieldWord = (name: string, lang: Lang): string | undefined => first(fields, lang, name);
export const resultWord = (calc: string, name: string, lang: Lang): string | undefined =>
  first(fields, lang, `${calc}>${name}`, `>${name}`, name);
export const valueWord = (calc: string, code: string, lang: Lang): string | undefined =>
  first(values, lang, `${calc}>${code}`, code);
export const calcNames: readonly string[] = Object.keys(calcs);
