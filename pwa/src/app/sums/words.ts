// Words of the calculations: titles, what they answer, and their fields. The core
// says it in English; what stands here is shorter, or Spanish.

type Pair = readonly [en: string, es: string];

// Title in both languages, and in Spanish what it answers (English: the core's own sentence).
const calcs: Readonly<Record<string, readonly [en: string, es: string, about: string]>> = {
  'booth.changecost': ['Cost of a colour change', 'Coste de un cambio de color', 'Qué cuesta un cambio de color.'],
  'booth.changetime': ['Time of a colour change', 'Tiempo de un cambio de color', 'Cuánto tardará un cambio: la media del taller, acercada a la regla mientras haya pocos.'],
  'booth.cleaning': ['Cleaning between two powders', 'Limpieza entre dos pinturas', 'Hasta dónde limpiar una cabina entre dos pinturas, y por qué.'],
  'booth.dust': ['Dust in the exhaust air', 'Polvo en el aire de extracción', 'Cuánta pintura lleva el aire, frente a qué límite, y cuánto aire o cuántas pistolas lo cumplen.'],
  'booth.order': ['Order of the day’s colours', 'Orden de los colores del día', 'El orden, y con dos cabinas el reparto, con menos coste de cambios y retrasos.'],
  'coating.activation': ['Activation energy', 'Energía de activación', 'La energía de activación que dan dos puntos de la ficha.'],
  'coating.capability': ['Capability of the film', 'Capacidad de la película', 'Media, desviación, Cp y Cpk de las lecturas, con intervalos de confianza.'],
  'coating.chart': ['Chart of single readings', 'Gráfico de lecturas', 'Los límites de un gráfico de lecturas en el orden en que se tomaron.'],
  'coating.coverage': ['Coverage', 'Rendimiento', 'Cuánto cubre un kilo o una libra de pintura con una película.'],
  'coating.cure': ['Cure from a logged curve', 'Curado según la curva', 'Si la temperatura medida ha curado la pintura: tiempo a temperatura, minutos equivalentes y juicio.'],
  'coating.equivalent': ['Equivalent cure time', 'Tiempo de curado equivalente', 'El tiempo a otra temperatura del metal que cura lo mismo.'],
  'coating.excess': ['Cost of excess film', 'Coste del exceso de película', 'Qué cuesta la película por encima del objetivo, en pintura y dinero.'],
  'coating.film': ['Accept a film', 'Aceptar una película', 'Si una película es aceptable según la regla de una norma, y por qué no.'],
  'coating.mix': ['Specific gravity of a mixture', 'Peso específico de una mezcla', 'El peso específico de una mezcla.'],
  'coating.need': ['Powder for a job', 'Pintura para un trabajo', 'La pintura que comprar para un trabajo, en cajas enteras, y su coste.'],
  'coating.run-transfer': ['Transfer efficiency of a run', 'Eficiencia de una tanda', 'Eficiencia de primera pasada por área, película y pintura pulverizada, con su incertidumbre.'],
  'coating.sampling': ['How many readings', 'Cuántas lecturas', 'Cuántas zonas, puntos y lecturas pide una superficie.'],
  'coating.transfer': ['Transfer efficiency, weighed', 'Eficiencia de transferencia, pesada', 'Eficiencia de primera pasada de una prueba pesada, con su incertidumbre.'],
  'gun.advice': ['Advice for a symptom', 'Consejo para un defecto', 'Qué cambiar del ajuste frente a un defecto, una cosa cada vez.'],
  'gun.flow': ['Best powder flow', 'Mejor caudal de pintura', 'El caudal con menos coste por pieza, la curva entera y lo plana que es.'],
  'gun.hose': ['Does the hose carry it?', '¿Transporta la manguera?', 'Si la manguera transporta o da tirones, y lo más que lleva.'],
  'gun.output': ['Output of the gun', 'Caudal de la pistola', 'Qué sale con un aire principal, o qué aire da un caudal, según pruebas pesadas.'],
  'gun.setup': ['Set-up to start from', 'Ajuste de partida', 'Qué ajustes probar para una pintura, un tipo de pieza y una cabina; primero el último que funcionó.'],
  'reclaim.charge': ['Mix a charge', 'Mezclar una carga', 'Cuánto recuperado y virgen hacen una carga de una masa y una parte dadas.'],
  'reclaim.choose': ['Choose bins and lots', 'Elegir depósitos y lotes', 'Qué depósitos y lotes hacen una carga dentro de los límites: más recuperado y luego menos pasadas.'],
  'reclaim.settle': ['Reclaim over time', 'Recuperado con el tiempo', 'La parte de recuperado tras pulverizar la alimentación varias veces, y cuándo se estabiliza.'],
  'reclaim.sizes': ['Particle sizes of a mixture', 'Granulometría de una mezcla', 'La curva de tamaños, d10, d50 y d90, y la parte de finos.'],
  'reclaim.steady': ['Settled closed loop', 'Circuito cerrado estable', 'Cómo marcha un circuito cerrado una vez estable, con o sin tope de recuperado.'],
  'reclaim.topup': ['Top up a hopper', 'Rellenar una tolva', 'Cuánto recuperado y virgen llenan una tolva sin pasar la parte que admite la pintura.'],
  'reclaim.ways': ['To waste, collect or loop?', '¿Desecho, recogida o circuito?', 'Qué cuesta un trabajo a desecho, recogiendo y en circuito cerrado, lado a lado.'],
  'reclaim.worth': ['When collecting pays', 'Cuándo compensa recoger', 'Desde cuánta pintura, área o piezas compensa el cambio más caro de recoger.'],
  'reconcile.balance': ['Do the weighings fit?', '¿Cuadran las pesadas?', 'Qué fueron con más probabilidad unas medidas que deben cuadrar, si encajan y cuál parece errónea.'],
  'reconcile.run': ['Close a run', 'Cuadrar una tanda', 'Si las pesadas de una tanda encajan, qué fueron con más probabilidad, qué se perdió y cuál parece errónea.'],
  'stock.count': ['Stock count', 'Recuento', 'Qué halló un recuento frente a los libros, en masa y dinero.'],
  'stock.label': ['Read a box label', 'Leer una etiqueta', 'Qué dice la etiqueta de una caja: lote, fecha, masa neta y lo demás.'],
  'stock.reorder': ['When to order', 'Cuándo pedir', 'Cuándo pedir una pintura y cuántas cajas.'],
  'stock.shelf': ['Shelf life', 'Caducidad', 'Hasta cuándo se puede usar una pintura, y cuánto antes tras días de calor.'],
  'stock.usefirst': ['Which lot first', 'Qué lote primero', 'Qué lotes usar y en qué orden, y cuánto de cada uno.'],
};

const fields: Readonly<Record<string, Pair>> = {
  air_l_min: ['Conveying air', 'Aire de transporte'], air_m3h: ['Exhaust air', 'Aire de extracción'], area_m2: ['Area', 'Área'], area_m2_sd: ['Area, uncertainty', 'Área, incertidumbre'], batch: ['Batch', 'Lote del fabricante'],
  bore_mm: ['Bore of the hose', 'Diámetro interior'], booth: ['Booth', 'Cabina'], booths: ['Booths', 'Cabinas'], box_kg: ['Mass of a box', 'Masa de una caja'], box_mg: ['Mass of a box', 'Masa de una caja'], books_mg: ['In the books', 'En los libros'], by: ['Counted by', 'Contado por'],
  capacity_mg: ['Holds at most', 'Capacidad'], change: ['Change', 'Cambio'], charging: ['Charging', 'Carga'], chemistry: ['Chemistry', 'Química'], code: ['What', 'Qué'], collect_change: ['Change when collecting', 'Cambio al recoger'], colour: ['Colour', 'Color'], colours: ['Colours', 'Colores'],
  confidence: ['Confidence', 'Confianza'], consumables: ['Consumables', 'Consumibles'], cost: ['Cost', 'Coste'], curve: ['Curve', 'Curva'], day: ['Day', 'Día'], delta_e: ['Colour difference ΔE', 'Diferencia de color ΔE'], deposits: ['Deposit tests', 'Pruebas de depósito'], disposal_kg: ['Disposal', 'Eliminación'],
  distance_mm: ['Gun distance', 'Distancia de pistola'], done: ['Already cleaned to', 'Ya limpiado hasta'], due: ['Due', 'Para el'], ea_kj_mol: ['Activation energy', 'Energía de activación'], end: ['End of the day', 'Fin del día'], extra_kpa: ['Extra air', 'Aire adicional'], film_um: ['Film', 'Película'], film_um_sd: ['Film, uncertainty', 'Película, incertidumbre'],
  fines: ['Fines', 'Finos'], fines_max: ['Most fines', 'Finos, máximo'], finish: ['Finish', 'Acabado'], found_mg: ['Found', 'Hallado'], from: ['From', 'Desde'], guns: ['Guns', 'Pistolas'], held: ['On hold', 'Retenido'], holds_mg: ['Holds now', 'Contiene ahora'], holds_reclaim_mg: ['of it reclaim', 'de ello, recuperado'],
  hopper_after_g: ['Hopper after', 'Tolva después'], hopper_before_g: ['Hopper before', 'Tolva antes'], hopper_sd_g: ['Hopper scale, uncertainty', 'Báscula de tolva, incertidumbre'], id: ['Name', 'Nombre'], idle: ['Booth standing still', 'Cabina parada'], keep_cost: ['Cost of keeping', 'Coste de almacenar'], kv: ['High voltage', 'Alta tensión'], ua: ['Current', 'Corriente'],
  labour: ['Labour', 'Mano de obra'], late_cost: ['Cost of lateness', 'Coste del retraso'], lead_days: ['Delivery time', 'Plazo de entrega'], level: ['Cleaning level', 'Nivel de limpieza'], lines: ['Lines', 'Líneas'], loop_change: ['Change of the loop', 'Cambio del circuito'], loss_kg: ['Lost', 'Perdido'], lost_mg: ['Powder lost', 'Pintura perdida'], lot: ['Lot', 'Lote'], lots: ['Lots', 'Lotes'],
  made: ['Made on', 'Fabricado el'], main_kpa: ['Main air', 'Aire principal'], mass_mg: ['Mass', 'Masa'], mass_kg: ['Mass', 'Masa'], max_minutes: ['Most minutes', 'Minutos, máximo'], min_minutes: ['Least minutes', 'Minutos, mínimo'], max_um: ['Film, most', 'Película, máximo'], min_um: ['Film, least', 'Película, mínimo'], mean_um: ['Film, mean', 'Película, media'], target_um: ['Film, target', 'Película, objetivo'],
  mec_mg_m3: ['Explosible from', 'Explosible desde'], mg_per_min: ['Powder flow', 'Caudal de pintura'], minute: ['Minute', 'Minuto'], minutes: ['Minutes', 'Minutos'], minutes1: ['Minutes, first point', 'Minutos, primer punto'], minutes2: ['Minutes, second point', 'Minutos, segundo punto'], temp1_c: ['Temperature, first point', 'Temperatura, primer punto'], temp2_c: ['Temperature, second point', 'Temperatura, segundo punto'],
  name: ['Name', 'Nombre'], need_mg: ['Needed', 'Necesario'], nozzle: ['Nozzle', 'Boquilla'], on_order_mg: ['On order', 'Pedido en camino'], order_cost: ['Cost of an order', 'Coste de un pedido'], part_m2: ['Area of a part', 'Área de una pieza'], parts: ['Parts', 'Piezas'], parts_after_g: ['Parts after', 'Piezas después'], parts_before_g: ['Parts before', 'Piezas antes'], parts_sd_g: ['Parts scale, uncertainty', 'Báscula de piezas, incertidumbre'],
  passes: ['Passes', 'Pasadas'], passes_max: ['Most passes', 'Pasadas, máximo'], peak_c: ['Highest temperature', 'Temperatura máxima'], people: ['People', 'Personas'], per_day_kg: ['Use per day', 'Consumo por día'], per_minute: ['Booth and people', 'Cabina y personas'], place: ['Place', 'Lugar'], powder: ['Powder', 'Pintura'], price: ['Price', 'Precio'], price_kg: ['Price', 'Precio'], ready: ['Ready', 'Listo'], reason: ['Reason', 'Motivo'],
  received: ['Received', 'Recibido'], received_ms: ['Received', 'Recibido'], reclaim_mg: ['Reclaim there', 'Recuperado disponible'], virgin_mg: ['Virgin there', 'Virgen disponible'], reclaimed_kg: ['Reclaimed', 'Recuperado'], recovered_pm: ['Overspray recovered', 'Sobrante recuperado'], recovery: ['Recovery in use', 'Con recuperación'], recovery_pm: ['Overspray recovered', 'Sobrante recuperado'], ref_c: ['Reference temperature', 'Temperatura de referencia'],
  room: ['Days in the store', 'Días en el almacén'], rule: ['Rule', 'Regla'], rules: ['Rules', 'Reglas'], sd_lead_days: ['Delivery time, spread', 'Plazo, dispersión'], sd_per_day_kg: ['Use per day, spread', 'Consumo, dispersión'], service_pm: ['Days without lack', 'Días sin falta'], setup: ['Set-up', 'Ajuste'], setups: ['Set-ups', 'Ajustes'], sg: ['Specific gravity', 'Peso específico'], sg_sd: ['Specific gravity, uncertainty', 'Peso específico, incertidumbre'],
  share_pm: ['Share of reclaim', 'Parte de recuperado'], shelf_months: ['Shelf life', 'Caducidad'], size_um: ['Particle size', 'Tamaño de partícula'], sources: ['Sources', 'Orígenes'], sprayed_kg: ['Sprayed', 'Pulverizado'], sprayed_kg_sd: ['Sprayed, uncertainty', 'Pulverizado, incertidumbre'], start: ['Start', 'Inicio'], start_pm: ['Reclaim at the start', 'Recuperado al inicio'], store_max_dc: ['Store at most', 'Almacenar hasta'], symptom: ['Symptom', 'Defecto'],
  takt_min: ['Time per part', 'Tiempo por pieza'], te_pm: ['Transfer efficiency', 'Eficiencia de transferencia'], te: ['Transfer efficiency', 'Eficiencia de transferencia'], temp_c: ['Temperature', 'Temperatura'], temp_dc: ['Temperature', 'Temperatura'], tests: ['Tests', 'Pruebas'], text: ['Text of the label', 'Texto de la etiqueta'], to: ['To', 'Hasta'], today: ['Today', 'Hoy'], turnovers: ['Times sprayed over', 'Veces pulverizada'],
  usable_mg: ['Usable stock', 'Existencia utilizable'], use_by: ['Use by', 'Usar antes del'], uses: ['Uses', 'Usos'], utilisation_pm: ['Utilisation', 'Aprovechamiento'], values_um: ['Readings', 'Lecturas'], spots: ['Readings', 'Lecturas'], want_mg: ['Wanted', 'Se quiere'], waste: ['To waste', 'A desecho'], within_pm: ['Settled within', 'Estable dentro de'], worked: ['Worked', 'Funcionó'], year: ['Year', 'Año'],
  balances: ['Balances', 'Balances'], charged: ['Charged', 'Cargado'], in: ['Goes in', 'Entra'], kg: ['Mass', 'Masa'], left_over: ['Left over', 'Sobra en la tolva'], lost: ['Lost, as assumed', 'Perdido, según se supone'], measured: ['Measured', 'Medido'], on_parts: ['On parts', 'En las piezas'], out: ['Comes out', 'Sale'],
  recovered: ['Recovered', 'Recuperado'], recovery_rate: ['Recovery to expect', 'Recuperación esperada'], scrapped: ['Scrapped', 'Desechado'], sd: ['Uncertainty', 'Incertidumbre'], sd_kg: ['Uncertainty', 'Incertidumbre'], share: ['Share', 'Parte'], suspect_below: ['Suspect below this chance', 'Sospechar bajo esta probabilidad'], value: ['Value', 'Valor'],
  // Results, for Spanish; in English the core's own sentence says more.
  short_mg: ['Lacking', 'Falta'], reclaim_after_mg: ['Reclaim afterwards', 'Recuperado al final'], total_after_mg: ['Total afterwards', 'Total al final'], ratio: ['Virgin to reclaim', 'Virgen a recuperado'], binding: ['What decided', 'Qué decidió'], over_by_mg: ['Over the limit by', 'Sobre el límite'], dilutes: ['Virgin alone helps', 'Basta con virgen'], dilute_mg: ['Virgin to dilute', 'Virgen para diluir'],
  take_out_mg: ['Take out first', 'Sacar antes'], virgin_in_mg: ['Then virgin in', 'Luego, virgen'], order: ['Order', 'Orden'], refused: ['Not to be used', 'No usar'], take_mg: ['Take', 'Tomar'], why: ['Why', 'Por qué'], total: ['Total', 'Total'], reasons: ['Reasons', 'Motivos'], missing: ['Still missing', 'Aún falta'], assumed: ['On the safe side', 'Por seguridad'], verdict: ['Verdict', 'Juicio'], speed_m_s: ['Air speed', 'Velocidad del aire'],
  margin: ['Margin', 'Margen'], warnings: ['Look at', 'Mire'], best: ['Best', 'Mejor'], estimated: ['Estimated', 'Estimado'], lost_days: ['Days lost', 'Días perdidos'], warm_days: ['Warm days', 'Días de calor'], before: ['Without them', 'Sin ellos'], boxes: ['Boxes', 'Cajas'], point_kg: ['Order at', 'Pedir al llegar a'], safety_kg: ['Safety stock', 'Reserva'], cover_days: ['Lasts', 'Alcanza para'], allowed: ['Rule is kept', 'Se cumple la regla'], limit_g_m3: ['Limit', 'Límite'],
  lost_kg: ['Lost', 'Perdido'], lost_sd_kg: ['Lost, uncertainty', 'Perdido, incertidumbre'], off_kg: ['Off by', 'Descuadre'], fits: ['They fit', 'Encajan'], suspects: ['Looks wrong', 'Parece erróneo'], p_value: ['Chance of it', 'Probabilidad'], statistic: ['Chi-squared', 'Ji cuadrado'], redundancy: ['Independent balances', 'Balances independientes'],
  figures: ['Figures', 'Cifras'], reconciled: ['Most likely', 'Lo más probable'], reconciled_sd: ['Uncertainty of that', 'Su incertidumbre'], adjustment: ['Adjustment', 'Ajuste'], adjustment_sd: ['Adjustment to expect', 'Ajuste esperable'], standardised: ['Adjustment over expected', 'Ajuste entre lo esperable'],
};

const values: Readonly<Record<string, Pair>> = {
  charged: ['charged', 'cargado'], recovered: ['recovered', 'recuperado'], scrapped: ['scrapped', 'desechado'], on_parts: ['on parts', 'en las piezas'], left_over: ['left over', 'sobra en la tolva'], lost: ['lost', 'perdido'], te: ['transfer efficiency', 'eficiencia de transferencia'], recovery_rate: ['recovery to expect', 'recuperación esperada'],
  share: ['share of reclaim', 'parte de recuperado'], reclaim: ['no more reclaim', 'no hay más recuperado'], virgin: ['no more virgin', 'no hay más virgen'], room: ['no more room', 'no cabe más'], over: ['already over the limit', 'ya sobre el límite'],
  'hose.carries': ['carries', 'transporta'], 'hose.close': ['close to surging', 'cerca de dar tirones'], 'hose.surges': ['surges', 'da tirones'], 'flow.takt': ['time per part', 'tiempo por pieza'], 'flow.dust': ['dust in the air', 'polvo en el aire'], 'flow.hose': ['the hose', 'la manguera'],
  'lot.held': ['on hold', 'retenido'], 'lot.expired': ['expired', 'vencido'], 'lot.use_by_unreadable': ['use-by not readable', 'fecha ilegible'], half_mec: ['below half of the explosible', 'menos de la mitad de lo explosible'], ten_grams: ['ten grams a cubic metre', 'diez gramos por metro cúbico'],
  any: ['any', 'cualquiera'], steel: ['steel structure', 'estructura de acero'], area: ['by area', 'por área'], mean80: ['mean and 80 %', 'media y 80 %'], readings80: ['readings and 80 %', 'lecturas y 80 %'], 'symptom.corners': ['bare corners', 'esquinas sin cubrir'], 'symptom.heavy_middle': ['heavy in the middle', 'cargado en el centro'], 'symptom.overspray': ['much overspray', 'mucho sobrante'],
  'symptom.rough': ['rough', 'rugoso'], 'symptom.second_coat': ['second coat falls off', 'la segunda mano no agarra'], 'symptom.surging': ['surging', 'tirones'], 'symptom.thick': ['too thick', 'demasiado grueso'], 'symptom.thin': ['too thin', 'demasiado fino'], 'symptom.wrap': ['little wrap-around', 'poca envoltura'],
};

const side = { en: 0, es: 1 } as const;
const one = (table: Readonly<Record<string, Pair>>, key: string, lang: 'en' | 'es'): string | undefined => table[key]?.[side[lang]];

export const calcTitle = (name: string, lang: 'en' | 'es'): string | undefined => calcs[name]?.[side[lang]];
export const calcAbout = (name: string, lang: 'en' | 'es'): string | undefined => (lang === 'es' ? calcs[name]?.[2] : undefined);
export const fieldWord = (name: string, lang: 'en' | 'es'): string | undefined => one(fields, name, lang);
export const valueWord = (code: string, lang: 'en' | 'es'): string | undefined => one(values, code, lang);
export const calcNames: readonly string[] = Object.keys(calcs);
