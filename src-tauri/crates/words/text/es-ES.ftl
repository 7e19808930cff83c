# Awaiting review by a native EMS clinician of Spain: no such person has read this file yet.
# Words most likely to vary: ventosa, máquina, relevo, parches, tijera (the scoop), dotación.

### Every word of the screen. Labels: two words at most, three where the key is full width or the words are short.
### A key that starts a state is named as the mark that it makes, never as a command to a device.
### One word for one thing on key, screen and voice. "Máquina" is the device, never "compresor" or "equipo".

## Keys

act-start_by_hand = Iniciar a mano
act-hands_off = Manos fuera
act-hands_off_check = Manos fuera
act-hands_off_fit = Manos fuera
act-hands_on = Manos al pecho
act-device_running = Máquina activa
act-paused = En pausa
act-paused_check = En pausa
act-stopped = Máquina parada
act-airway_in = Vía aérea puesta
act-airway_lost = Vía aérea perdida
act-tube_in = Tubo puesto
act-airway_seen = Onda CO2
act-breaths_between = Modo relación
act-breaths_through = Modo continuo
act-breaths_none = Sin ventilar
act-co2 = CO2
act-fit_device = Poner máquina
act-fit_parts = Piezas puestas
act-fit_reason = Motivo de máquina
act-not_suited = No indicada
act-not_now = Ahora no
act-shocked_hand = Descarga, sigo
act-shocked_device = Descarga, sigo
act-no_shock_hand = Sin descarga, sigo
act-no_shock_device = Sin descarga, sigo
act-shock_now = Descarga dada
act-shock_again = Otra descarga
act-pulse_back = Pulso
act-arrest_again_hand = A mano
act-arrest_again_device = Con máquina
act-why_check = Control
act-why_airway = Vía aérea
act-why_pulse = Control de pulso
act-why_breaths = Ventilar
act-why_line = Acceso
act-why_other = Otro
act-why_rotate = Por relevo
act-why_move = Traslado
act-why_fit = Colocación
act-why_reseat = Recolocar
act-why_device_off = Máquina retirada
act-why_power = Batería
act-moving = En traslado
act-move_scoop = En tijera
act-move_stairs = En escalera
act-move_stretcher = En camilla
act-loaded = A bordo
act-move_soon = Mover pronto
act-set_down = En el suelo
act-cup_good = Ventosa bien
act-reseat = Recolocar
act-power_swap = Cambiar batería
act-swapped = Cambiada
act-pads_on = Parches puestos
act-rotate = Relevo
act-flag = Marca de hora
act-voice_off = Voz no
act-voice_on = Voz sí
act-beat_off = Metrónomo no
act-beat_on = Metrónomo sí
act-as_before = Como antes
act-start_with_breaths = Iniciar, ventilar primero
act-device_already_on = Máquina ya activa
act-began_earlier = Empezó antes
act-start_quiet = Iniciar callado
act-breaths_given_2 = 2 dadas, manos al pecho
act-breaths_given_5 = 5 dadas, manos al pecho
act-shock_through = Con descarga
act-no_shock_through = Sin descarga
act-charge = Cargar
act-charge_dumped = Carga anulada
act-analysing = Analizando
act-it_leads = DEA guía
act-leads_no_more = Sin guía DEA
act-shockable = Descarga indicada
act-not_shockable = Descarga no indicada
act-drug_by_clock = Adrenalina
act-drug_by_shocks = Fármaco de ritmo
act-line_in = IV puesta
act-line_bone = IO puesta
act-other_drug = Otro fármaco
act-before_us = Atención previa
act-signs_of_life = Signos de vida
act-signs_gone = Signos ausentes
act-too_small = Pequeño
act-too_large = Grande
act-full_pack = Batería llena
act-mains_on = A la red
act-mains_off = Sin red
act-airway_try = Intento de vía aérea
act-ultrasound = Ecografía
act-decompression = Aguja torácica
act-other_task = Otra tarea
act-procedure_done = Tarea hecha
act-als_here = SVA aquí
act-call_made = Llamada hecha
act-ecpr_called = E-RCP avisada
act-left_scene = Salida
act-voice_off_2_min = Pausa de voz
act-levels = Nivel sonido
act-same_patient = Mismo paciente
act-new_patient = Otro paciente
act-still_off = Sigue la pausa
act-still_running = El caso sigue
act-heard_check = Entendido
act-heard_cup = Entendido
act-heard_drug = Entendido
act-heard_rotate = Entendido
act-heard_power = Entendido
act-heard_minute = Entendido
act-heard_heart = Entendido
act-pulse_none = Sin pulso
act-pulse_still = Sigue el pulso
act-heart_below_60 = Menos de 60
act-heart_from_60 = 60-100
act-heart_above_100 = Más de 100
act-class_adult = Adulto
act-class_child = Niño
act-class_infant = Lactante
act-class_newborn = Neonato
act-overlay_pregnancy = Embarazo
act-overlay_cold_30 = Frío <30
act-overlay_cold_35 = Frío 30-35
act-overlay_cold_above = Templado >35
act-overlay_drowning = Ahogado
act-overlay_opioid = Opioide
act-overlay_trauma = Trauma
act-overlay_asthma = Asma
act-pregnancy_off = Sin embarazo
act-cold_off = Sin frío
act-drowning_off = No ahogado
act-opioid_off = Sin opioide
act-trauma_off = Sin trauma
act-asthma_off = Sin asma
act-end_handed_over = Entregado
act-end_stopped = Maniobras cesadas
act-end_pulse = Pulso
act-end_no_arrest = Sin parada

## Hands on, where the pack is out and hands take over

act-hands_on-instead = A mano

## Questions of the cards

card-before = No está en marcha
card-hand_ratio = Comprimir, luego ventilar
card-hand_continuous = Una ventilación con cada tono
card-fitting = Abierta, encendida: 1 pausa
card-fitting-first = Abierta, encendida: 2 pausas
card-fitting-in_check = Abierta, encendida: al control
card-device_ratio = Ventile en la pausa de la máquina
card-device_continuous = Una ventilación con cada tono
card-check_due = Control de ritmo
card-check_due-rotate = Control de ritmo. Relevo.
card-check-answered = ¿De nuevo al pecho?
card-check_due-fit = Control de ritmo, luego máquina
card-first_breaths = Primero ventilar
card-hands_off = ¿Por qué?
card-check = ¿Descarga dada?
card-fit_pause = ¿Máquina activa?
card-fit_pause-first = Primera pieza puesta, manos al pecho
card-reseating = ¿Ventosa en su lugar?
card-moving = ¿Ya en el suelo?
card-cup = ¿Ventosa en su lugar?
card-power = ¿Batería nueva puesta?
card-power_late = Plazo vencido. ¿Batería nueva puesta?
card-power-in = ¿Máquina activa?
card-stopped = Retírela, comprima
card-pulse = Hay pulso. ¿Nueva parada?
card-unknown = ¿Qué es cierto ahora?
card-ended = El registro está guardado

## The state line

state-before = Sin caso
state-by_hand = A mano
state-by_device = Con máquina
state-hands_off = Manos fuera
state-pulse = Con pulso
state-unknown = No se sabe
state-ended = Terminado

## Why hands are off, said after the state

reason-rhythm_check = control
reason-pulse_check = control de pulso
reason-shock = descarga
reason-ventilation = ventilaciones
reason-airway = vía aérea
reason-access = acceso
reason-ultrasound = ecografía
reason-procedure = procedimiento
reason-device_fit = colocación
reason-device_reseat = recolocar
reason-device_off = máquina retirada
reason-device_fault = máquina parada
reason-power = batería
reason-move = traslado
reason-rotate = relevo
reason-rosc = pulso
reason-stop_care = maniobras cesadas
reason-unknown = ¿por qué?

## Lines over the card

banner-no_sound = Sin sonido
banner-not_saving = No se guarda
banner-prompts_stopped = Avisos detenidos
banner-pack_damaged = Audios dañados
banner-call = Llamada: mire el ritmo
banner-muted = Teléfono en silencio
banner-taken = Otra app tiene el sonido
banner-route_wireless = Sonido: equipo inalámbrico
banner-route_wired = Sonido: equipo con cable
banner-route_other = Sonido: no es el altavoz
banner-faint = Volumen bajo
banner-not_held = Deje la app al frente
banner-saving = Ahorro de energía
banner-phone_low = Teléfono: batería baja
banner-quiet = Caso callado
banner-led = DEA guía
banner-voice_off = Voz apagada
banner-beat_off = Metrónomo apagado
banner-resumed = Reanudado

## What comes next; the time follows

next-check = Control de ritmo en
next-check_over = Control atrasado
next-window = El plazo vence en

## How a run ended

outcome-rosc = Con pulso
outcome-stopped = Maniobras cesadas
outcome-handed_over = Entregado
outcome-no_arrest = Sin parada

## What is spoken, in the same words

prompt-off05 = Sin manos: cinco segundos.
prompt-off10 = Sin manos: diez segundos.
prompt-off15 = Sin manos: quince segundos.
prompt-off20 = Sin manos: veinte segundos.
prompt-off30 = Sin manos: treinta segundos.
prompt-off40 = Sin manos: cuarenta segundos.
prompt-off50 = Sin manos: cincuenta segundos.
prompt-off60 = Sin manos: sesenta segundos.
prompt-dev_stop = Máquina parada. Retírela, manos al pecho.
prompt-arrest_again = Nueva parada.
prompt-power_over = Plazo vencido. ¿Ventosa en su lugar?
prompt-chk_now = Control de ritmo.
prompt-chk_over = Atrasado: control de ritmo.
prompt-rotate_now = Relevo de compresor.
prompt-hr_now = Frecuencia cardíaca: toca control.
prompt-drug_due = Adrenalina: toca ahora.
prompt-drug_late = Tarde: adrenalina.
prompt-cup_down = En el suelo. Revise la ventosa.
prompt-cup_now = Revise la ventosa.
prompt-dev_cont = Vía aérea puesta. Máquina a continuo.
prompt-dev_ratio = Mascarilla. Máquina a relación.
prompt-chk_30 = Ritmo en treinta.
prompt-chk_15 = Ritmo en quince.
prompt-charge = ¿Cargar ya?
prompt-chk_cd5 = Cinco.
prompt-chk_cd4 = Cuatro.
prompt-chk_cd3 = Tres.
prompt-chk_cd2 = Dos.
prompt-chk_cd1 = Uno.
prompt-next_up = Siguiente al pecho, prepárese.
prompt-drug_60 = Adrenalina en un minuto.
prompt-drug_next = ¿Antiarrítmico? Decide el líder.
prompt-fit_plan = Abierta y encendida antes de parar.
prompt-power_10 = Batería: cambio en diez minutos.
prompt-power_2 = Cambio en dos. ¿Batería en mano?
prompt-move_plan = Antes de mover: miembros, correas, vías, ventosa.
prompt-causes = ¿Causas reversibles?
prompt-plan_now = Diga el plan.
prompt-pads_now = ¿Parches puestos? Luego, control de ritmo.
prompt-undo = Marca borrada.
prompt-voice_off = Voz apagada. El metrónomo sigue.
prompt-voice_on = Voz encendida.
prompt-beat_off = Metrónomo apagado. Los relojes siguen.
prompt-hold_end = Mantenga para finalizar.
prompt-phone_low = Teléfono: batería baja.
prompt-still = ¿Sigue en marcha?

## What the giant figure says

figure-count = compresión
figure-off = de pausa
figure-since = ya van
figure-until = restantes
figure-over = de más

## Keys and words that are always the same

fixed-mark = Marcar
fixed-undo = Deshacer
fixed-close = Cerrar
fixed-put_away = Descartar
fixed-more = Más
fixed-hold_end = Mantener: fin
fixed-new_run = Caso nuevo
fixed-not_ended = No terminó
fixed-app = Carrybeat
fixed-touched = Tocado
fixed-kept = Guardado
fixed-saving = Guardando
fixed-refused = No aceptado
fixed-marks = Marcas
fixed-how_ended = ¿Cómo terminó?
fixed-beat_light = Metrónomo
fixed-shocks = { $n ->
    [one] { $n } descarga
   *[other] { $n } descargas
}

## The start card

caution-trained = Para dotaciones formadas.
caution-protocol = Primero el protocolo local y la dirección médica.
caution-device = No es un producto sanitario.
caution-senses = No mide nada: cuenta a partir de las marcas que se hacen.
start-example = { $name }: un ejemplo, no el protocolo de su servicio.
start-own = { $name }
ended-kept = El registro de este caso está guardado en este teléfono.
ended-not_kept = El registro de este caso no está completo en el disco. Anote ahora lo importante.

## What went wrong at the start

error-locked = Carrybeat ya está en marcha
error-locked-remedy = Otra ventana usa la carpeta de casos. Cierre esta y siga en la otra.
error-folder = No se puede usar la carpeta de casos
error-protocol = No se puede usar el protocolo
error-start = Carrybeat no puede iniciar
error-setting = No se puede cambiar el ajuste
error-phone_locked = Lo guardado de los casos se ve al desbloquear el teléfono
notice-channel = Caso en curso
notice-title = Un caso sigue en curso
notice-text = Toque para verlo. El ritmo y el reloj siguen solos.
error-in_run = Esto no se puede cambiar durante un caso
error-not_kept = El registro de este caso no se guardó

## Remarks beside the question

ask-still_off = ¿Sigue la pausa?
ask-still_running = ¿Sigue el caso?
ask-pulse_again = ¿Sigue el pulso?
ask-heart_rate = ¿Frecuencia cardíaca?
ask-cup_glance = Mire la ventosa
ask-by_hand = Sin energía: ¿a mano?
ask-cold_shocks = Frío: descargas del protocolo completas
ask-device_pause = Ventile en la pausa de la máquina
ask-keep_pack = A la red: ¿batería puesta?
ask-over_budget = Tiempo previsto agotado
ask-delivery_due = ¿Parto decidido?
ask-rotate = Relevo de quien comprime
ask-too_early_for_device = Pronto para la máquina, según protocolo
ask-stays_by_hand = Máquina no aceptada: a mano

drug-due = { $name }: toca
drug-late = { $name }: tarde
drug-withheld = { $name }: en espera por protocolo
drug-doubled = { $name }: marcado dos veces

## How the device must be set

device_mode-ratio = ¿Máquina a relación?
device_mode-continuous = ¿Máquina a continuo?
device_mode-none = ¿Máquina: sin ventilaciones?

## Lists of the protocol

list-reasons = Por qué una máquina
list-not_for = No para
list-roles = Quién hace qué
list-parts = Piezas
list-landmarks = Dónde va
list-before_move = Antes de mover
list-refractory = Las descargas no bastan
list-overlay = Situación
list-minute = Repasar
list-pulse = Con pulso
list-ready = Reponer
list-doses = Dosis del servicio

## Pages of keys behind Mark

group-care = Fármacos, vía
group-check = Ritmo, pulso
group-chest = En el pecho
group-task = Mover, tareas
group-run = Hora, sonido

## Pages of keys behind Set Right

group-why = Por qué
group-patient = Paciente
group-special = Situación

## The state, set right

set-manual = A mano
set-mechanical = Con máquina
set-hands_off = Manos fuera
set-pulse = Con pulso
set-unknown = No se sabe

class-adult = Adulto
class-child = Niño
class-infant = Lactante
class-newborn = Neonato

by-manual = a mano
by-mechanical = con máquina

## The hand-over card

card_line-patient = Paciente
card_line-arrest = Parada
card_line-basis = La parada fue
card_line-began = Empezamos
card_line-before_us = Antes de nosotros
card_line-state = Ahora
card_line-first_rhythm = Primer ritmo
card_line-rhythm = Ritmo ahora
card_line-shocks = Descargas
card_line-lines = Accesos puestos
card_line-airway = Vía aérea
card_line-breaths = Ventilaciones
card_line-co2 = CO2 primero, mínimo, ahora
card_line-device = Máquina desde
card_line-device_out = Máquina parada, según marca
card_line-device_why = Por qué una máquina
card_line-device_refused = Máquina no usada
card_line-power = Batería para
card_line-longest = Pausa más larga
card_line-pulse = Con pulso
card_line-overlay = Situación
card_line-as_marked = Horas

basis-recognised = reconocida por nosotros
basis-witnessed = vista por nosotros
basis-reported = según nos dijeron

rhythm-vf = FV
rhythm-pvt = TV sin pulso
rhythm-pea = AESP
rhythm-asystole = asistolia
rhythm-organised = organizado
rhythm-shockable = desfibrilable
rhythm-not_shockable = no desfibrilable
rhythm-aed_shock = DEA: descarga
rhythm-aed_no_shock = DEA: sin descarga
rhythm-unknown = no se sabe

airway_key-opa = Oral
airway_key-npa = Nasal
airway_key-sga = Supra
airway_key-ett = Tubo
airway_key-cric = Crico

entry-done = Listo
entry-next = Siguiente
entry-not_known = No se sabe
entry-minutes = Parada, hace minutos
entry-shocks = Descargas hasta ahora
entry-doses = Dosis hasta ahora
entry-last_dose = Última dosis, hace minutos
entry-by = ¿Quién comprime?
entry-airway = Vía aérea puesta
entry-hand = A mano
entry-device = Con máquina
entry-beat = Metrónomo
entry-breath = Insuflar
entry-voice = Voz
entry-all = Todo
entry-db = dB
entry-full = Máximo
preset-quiet_room = Sala callada
preset-vehicle = Vehículo

airway-opa = cánula oral
airway-npa = cánula nasal
airway-sga = supraglótica
airway-ett = tubo
airway-cric = por el cuello

breaths-ratio = en relación
breaths-continuous = continuas
breaths-none = ninguna

prior-none = nadie comprimió
prior-bystander = testigo
prior-family = familia
prior-hcp = personal sanitario
prior-first_responder = primeros intervinientes
prior-other_crew = otra dotación

aed-none = sin DEA
aed-applied = DEA puesto
aed-shocked = DEA dio descarga

overlay-pregnancy = embarazo
overlay-cold = frío
overlay-drowning = ahogamiento
overlay-opioid = opioide
overlay-trauma = trauma
overlay-asthma_anaphylaxis = asma, anafilaxia

cold-below_30 = menos de 30
cold-30_35 = 30 a 35
cold-above_35 = más de 35

due-check = Sigue: control
due-drug = Sigue: { $name }
due-power = Sigue: batería
due-heart_rate = Sigue: frecuencia cardíaca
due-pulse = Sigue: pulso
due-minute = Sigue: lista
due-delivery = Sigue: parto

## What a mark was

mark-arrest = Parada
mark-prior_care = Atención previa
mark-patient = Paciente
mark-overlay = Situación
mark-leads = Quién guía
mark-ack = Respondido
mark-times = Hora
mark-decision = Decisión
mark-clock_mark = Reloj
mark-note = Nota
mark-resume = Reanudado
mark-sound = Sonido
mark-flag = Marca de hora
mark-end = Fin
mark-compr_start = Manos al pecho
mark-compr_stop = Manos fuera
mark-why = Motivo
mark-state_set = Corregido
mark-rotate = Relevo
mark-pulse_check = Control de pulso
mark-rosc = Con pulso
mark-rearrest = Nueva parada
mark-airway = Vía aérea
mark-airway_confirm = Confirmada
mark-breath_mode = Modo de ventilar
mark-vent = Ventilaciones
mark-etco2 = CO2
mark-pads = Parches
mark-charge = Carga
mark-analysing = Analizando
mark-rhythm = Ritmo
mark-shock = Descarga
mark-no_shock = Sin descarga
mark-heart_rate = Frecuencia cardíaca
mark-fit = Poner máquina
mark-fit_refused = No puesta
mark-cup = Ventosa
mark-move = Traslado
mark-power = Batería
mark-drug = Fármaco
mark-access = Acceso
mark-procedure = Procedimiento
mark-awake = Signos de vida

## Setting right, hand-over, pages

fixed-set_right = Corregir
fixed-what_is_true = ¿Qué es cierto?
fixed-since_when = ¿Desde cuándo?
fixed-since_now = Ahora
fixed-since_minutes = { $n } min
fixed-since_change = Último cambio
fixed-last_marks = Últimas marcas
fixed-no_marks = Aún sin marcas
fixed-earlier = { $n } s antes
fixed-remove = Quitar
fixed-ago = atrás
fixed-hand_over = Entrega
fixed-lists = Listas
fixed-back = Volver
fixed-menu = Menú
fixed-patient = Paciente
fixed-turn = Girar pantalla
fixed-debrief = Revisión
fixed-make_ready = Reponer
fixed-in_a_row = { $n ->
    [one] { $n } descarga seguida
   *[other] { $n } descargas seguidas
}
fixed-and_last = { $n }, última
fixed-as_marked = como se marcó en el caso
fixed-none_marked = ninguna marcada
fixed-none_of = nada de { $name }
fixed-seconds = { $name } s
fixed-allowed = Permitido: { $name }.
fixed-source = Fuente: { $name }.
fixed-ms = { $name } ms
fixed-mb = { $name } MB
fixed-version = Versión
fixed-file_id = Archivo
fixed-file_version = Versión del archivo
fixed-file_hash = SHA-256 del archivo
fixed-unfinished = Sin final
fixed-damaged = El archivo fue cambiado o está dañado
fixed-fingerprint = Huella del registro
fixed-fingerprint_use = Guardada en otro lugar, muestra si una copia es este registro hasta su última línea.
fixed-none_kept = Ninguno
fixed-not_told = no se informa aquí
fixed-ready_own = Revisado por la aplicación
fixed-ready_kept = Una línea se guarda en
fixed-ready_not_kept = Un caso no se podría guardar
fixed-ready_free = Espacio libre
fixed-ready_pack = La voz y los tonos están completos
fixed-ready_protocol = Protocolo
fixed-ready_look = Mire el teléfono
fixed-ready_kit = Material, según protocolo
fixed-listen = Escuchar
fixed-listen_note = Suenan el metrónomo, dos tonos de ventilación y luego un tono y una frase sobre el metrónomo, tan fuerte como en un caso.
fixed-levels = Nivel del sonido
fixed-louder = { $name }: más fuerte
fixed-softer = { $name }: más suave
fixed-below_full = { $name } dB bajo el máximo
fixed-at_full = máximo
fixed-theme = Colores de la pantalla
fixed-in_force = Protocolo vigente
fixed-own_files = Los archivos propios del servicio
fixed-own_folder = Póngalos aquí, un archivo .toml para cada clase: { $name }
fixed-own_gone = { $name }: no está o tiene fallos; rige un ejemplo

## Language and numbers

fixed-language_name = Español (España)
fixed-decimal = ,
fixed-language = Idioma de pantalla y voz
fixed-language_ask = ¿Idioma? No se eligió ninguno: este es el del teléfono.
fixed-language_gone = { $name }; la pantalla está en inglés en su lugar
fixed-other_voice = Aún no hay voz de este idioma: habla { $name }
fixed-fault = Fallo, detalle en inglés: { $name }

fixed-feel = Sentir el ritmo
feel-unheard = Donde quizá no se oiga
feel-always = En todos los casos
theme-day = Oscuro
theme-glare = Sol: fondo claro para el sol
theme-night = Noche: atenuado

title-first = Antes del primer caso
title-about = Acerca de
title-protocol = Protocolo
title-past = Casos
title-ready = Control previo
title-settings = Ajustes

first-start = Iniciar a mano pone en marcha el metrónomo y todos los relojes. No hace falta nada más para empezar.
first-tap = Toque lo que acaba de pasar, en el momento en que pasa. La tecla dice lo que ya es así.
first-white = La tecla blanca responde lo que la pantalla pregunta. Las marcas menos frecuentes están detrás de Marcar.
first-check = En un control de ritmo: Manos fuera, mire, luego Descarga, sigo o Sin descarga, sigo.
first-fit = Primero Poner máquina, con la máquina abierta y encendida. Luego Manos fuera, y Máquina activa cuando funcione.
first-move = En traslado antes de mover, En el suelo después. Luego pregunta por la ventosa: Ventosa bien o Recolocar.
first-undo = Un toque equivocado: Deshacer quita la última marca.
first-right = Un estado equivocado: toque la parte de arriba de la pantalla, diga qué es cierto y desde cuándo. Ahí están también los motivos y la clase.

about-what = Carrybeat lleva el metrónomo, las ventilaciones y los controles de dos minutos, y anota lo que marca la dotación.
about-marks = Dice la hora y pregunta. No juzga ni decide. No da ni cambia nada.
about-data = No guarda nombres, sonido, imágenes ni lugares. No abre ninguna conexión de red.
about-example = Los protocolos que trae son ejemplos. Use los de su servicio.
about-keys = Con teclado o botón: Av Pág responde donde hay una sola tecla principal. De dos no marca ninguna por sí sola: cada pulsación mueve un marco de una a otra y, mantenida 0,8 s, marca la enmarcada. Re Pág marca solo la hora; Escape cierra.
about-filter = Un toque cuenta desde 70 ms, uno largo a los 800 ms. No cuentan tres dedos a la vez ni el borde.

look-silent = Modo silencio apagado, volumen alto
look-power = Teléfono cargado
look-mount = Soporte y cable a mano

## The screens after a run: keys, and whose clock is looked at.

after-carry_over = Pasar datos
after-review = Repaso
after-keep = Guardar, exportar
after-why = ¿Por qué?
after-why_off = ¿Por qué la pausa?
after-sooner = Antes
after-later = Después
after-closer = Acercar
after-wider = Alejar
after-in_words = En palabras
after-moment = Momento en la tira
after-typed = Copiado
after-not_typed = No copiado
after-typed_was = Cambió desde que se tecleó. Era
after-previous = Anterior
after-next = Siguiente
after-all_rows = Todas las filas
after-add = Añadir marca
after-move_it = Mover
after-confirm = Correcto
after-replace = Cambiar
after-name_it = Nombrar
after-take_out = Sacar
after-what_was_done = ¿Qué se hizo?
after-what_was_so = ¿Qué era cierto?
after-put_back = Reponer
after-take_back = Revertir
after-end_review = Cerrar repaso
after-clocks = Relojes
after-whose_clock = ¿Qué reloj?
after-shows = Muestra
after-now = Ahora
after-as_it_turns = Ahora, al cambiar
after-with_seconds = Con segundos
after-no_seconds = Sin segundos
after-seconds = Segundos
after-minutes = Minutos
after-hours = Horas
after-done = Listo
after-hold = Proteger caso
after-let_go = Desproteger
after-hold_delete = Mantener: borrar
after-hold_delete_all = Mantener: borrar todo
after-of_all = Todos: remitir
after-delete_it = Borrar
after-delete_all = Borrar todo
after-hand_in = Remitir
after-to_pdf = PDF
after-to_csv = Tablas, CSV
after-to_carry_over = Pasar datos, CSV

clock-dispatch = Central
clock-monitor = Monitor
clock-wall = Reloj de pared
clock-other = Otro

## The listening test. Its answers are the prompts, in the language of the voice.

listening-title = Prueba de escucha
listening-note = Doce avisos con ruido de vehículo: ¿cuál era?
listening-what = Doce avisos con ruido de vehículo. Cada uno suena una vez; después diga cuál era, o que no oyó nada.
listening-place_it = Deje el teléfono donde va en un caso, con el volumen de un caso, en un sitio tranquilo. ¿Hay que salir? Primera pantalla, en cada página, termina la prueba.
listening-level = Voz sobre el ruido
listening-listener = Oyente
listening-no_number = sin número
listening-a_number = Un número, nunca un nombre.
listening-less = 1 menos
listening-one_more = 1 más
listening-ten_more = 10 más
listening-begin = Empezar
listening-ready = Pulse Sonar cuando esté listo. Suena una sola vez.
listening-play = Sonar
listening-sounding = Escuche
listening-asking = ¿Cuál era?
listening-nothing = No oí nada
listening-home = Primera pantalla
listening-failed = El sonido se perdió o se cortó: esta prueba no vale. Empiece otra.
listening-proof = Doce respuestas de un oyente no prueban nada.
listening-export = Exportar hoja
listening-again = Otro oyente
listening-faulty = Esta voz tiene sonidos defectuosos y no sirve para la prueba. La primera pantalla dice cuáles y qué hacer.
listening-none_done = Ninguna prueba ha terminado: responda las doce y exporte

said-listening_level = { $a } dB(A)
said-listening_right = Aciertos: { $a } de { $b }
said-listening_pressing = Avisos urgentes: { $a } de { $b } aciertos
said-listening_between = Eso deja abierto todo entre { $a } y { $b } % (intervalo exacto del 95 %).
said-listening_gate = Meta: { $a } % de aciertos en los avisos urgentes, con las hojas de todos los oyentes.
said-listening_enough = Una prueba no basta para juzgar: hacen falta { $a } respuestas urgentes, { $b } pruebas. Con menos, un { $c } % de aciertos puede ser en verdad menos de un { $d } %.
said-listening_total = Avisos urgentes de esta voz a { $a }, todas las hojas: { $b } de { $c } aciertos.
said-listening_too_few = No bastan para juzgar: hacen falta { $a } respuestas, { $b } pruebas. Con menos, un { $c } % de aciertos puede ser en verdad menos de un { $d } %.
said-listening_reached = Se alcanza la meta del { $a } %.
said-listening_not_reached = No se alcanza la meta del { $a } %.
said-listening_skipped = No se cuenta: { $a }: { $b }
said-listening_no_file = no es un archivo, o es demasiado grande para una hoja
said-listening_another = otra hoja tiene el número { $a } y otras respuestas
said-listening_cut_off = Borrado, porque se cortó al escribirlo: { $a }
said-listening_voice_set = Nivel de voz
said-listening_output = Salida de sonido
said-listening_confused = No entendidos
said-listening_said = Se dijo
said-listening_taken = Se entendió
said-listening_none_wrong = Todos se entendieron.
said-listening_pack = Voz
said-listening_seed = Número de prueba
said-listening_device = Dispositivo
said-listening_date = Fecha
said-listening_written = Hoja: { $a }. La suma de todas las hojas de allí: { $b }

## The debrief: its charts and its printed page. Every time is as a crew marked it, in whole seconds;
## what is not known has a word and never a nought; nothing is a score.

sheet-title = Revisión
sheet-title_of = Revisión de { $a }
sheet-notice = Carrybeat no es un producto sanitario ni está autorizado como tal. No mide nada: cada hora es la que anotó una dotación. Para formación y revisión por dotaciones formadas; no es parte de la historia clínica de un paciente ni una puntuación.
sheet-precision = Según marcas, ± 1 s. Las horas son minutos y segundos desde el inicio de la ventana.
sheet-as_recorded = como se registró
sheet-as_amended = como se enmendó, revisión { $a }
sheet-as_amended_unsealed = como se enmendó, revisión { $a }, enmiendas aún sin sello: { $b }
sheet-not_known = – no se sabe
sheet-none_marked = – ninguna marcada
sheet-yes = sí
sheet-no = no
sheet-seconds = { $a } s
sheet-from_to = { $a } a { $b }
sheet-pair = { $a }, { $b }
sheet-page_of = página { $a } de { $b }
sheet-foot_line = { $a }; { $b }; { $c }
sheet-sealed = sellado, revisión { $a }
sheet-sealed_later = sellado, revisión { $a }; después se añadieron líneas
sheet-unsealed = sin sello
sheet-broken = cambiado o dañado
sheet-fingerprint = Huella { $a }

sheet-head_run = El caso
sheet-head_record = Registro
sheet-head_kind = Tipo
sheet-head_began = Inicio, según el reloj del teléfono
sheet-head_window = Ventana, en el reloj del caso
sheet-head_begins = Empieza con
sheet-head_ends = Termina con
sheet-head_saw = La dotación vio la parada
sheet-head_class = Valores para
sheet-head_crew = Personas en la dotación
sheet-head_unit = Unidad
sheet-head_protocol = Protocolo
sheet-head_rate = Frecuencia fijada
sheet-head_version = Definiciones
sheet-rate_value = { $a } por minuto, como sonó
sheet-kind_run = caso
sheet-kind_drill = práctica
sheet-kind_rehearsal = ensayo
sheet-kind_test = prueba
sheet-begins_recognised = parada reconocida
sheet-begins_witnessed = parada vista por la dotación
sheet-begins_compression = primera compresión
sheet-begins_takeover = recibida de otros
sheet-ends_stopped = maniobras cesadas
sheet-ends_handed_over = entregado
sheet-ends_circulation = circulación que se mantuvo
sheet-ends_no_arrest = sin parada
sheet-ends_gap = un hueco
sheet-ends_last_line = última línea, no se marcó el final
sheet-no_window = No se marcó ni parada ni compresiones: no se puede medir nada.

sheet-trust_head = Hasta dónde llegan las marcas
sheet-of = { $a } de { $b }
sheet-trust_line = Controles marcados: { $a }; no se sabe: { $b }; parte conocida de la ventana: { $c }

sheet-fractions_head = Tiempo en el pecho
sheet-measure = Medida
sheet-value = Valor
sheet-window = Ventana
sheet-fraction = Fracción de compresión
sheet-fraction_modelled = Descontadas las pausas de ventilación del protocolo
sheet-after_five = Fracción de compresión, después
sheet-of_whole = Comprimiendo, de toda la ventana
sheet-time_on = Comprimiendo
sheet-time_off = Fuera del pecho
sheet-time_pulse = Circulación
sheet-time_unknown = No se sabe
sheet-time_off_no_breaths = Fuera del pecho, sin pausas de ventilación
sheet-at_most = como máximo { $a }: no se marcaron las pausas de ventilación
sheet-below_floor = { $a }; menos de 0,60
sheet-window_recognition = desde el reconocimiento
sheet-window_compression = desde la primera compresión
sheet-window_after_five = todo menos los primeros cinco minutos

sheet-longest_head = Las pausas más largas
sheet-pauses_line = Pausas de { $b } s o más: { $a }, de más de 10 s: { $c }.

sheet-strip_head = Tira
sheet-strip_title = Tira del caso, { $a } a { $b }, { $c }
sheet-strip_told = Comprimiendo { $a }, fuera del pecho { $b }, { $c }.
sheet-bars_head = Pausas en barras
sheet-bars_title = Pausas frente a 5 y 10 segundos, { $a }
sheet-bars_told = Pausas: { $a }, la más larga { $b }, de más de 10 s: { $c }.
sheet-bars_none = No se marcaron pausas.
sheet-bars_longest = Se dibujan las { $a } más largas de { $b } pausas; la tabla las tiene todas.

sheet-at = Momento
sheet-what = Qué
sheet-length = Duración
sheet-reason = Motivo
sheet-reason_none = – motivo no marcado
sheet-ended_by = Terminó con
sheet-ended_compressions = compresiones
sheet-ended_circulation = circulación
sheet-ended_unknown = un hueco, pudo ser más larga
sheet-ended_end = el final

sheet-lane_state = Pecho
sheet-lane_off = Pausa, s
sheet-lane_checks = Controles
sheet-lane_shocks = Descargas
sheet-lane_drugs = Fármacos
sheet-lane_air = Vía aérea
sheet-lane_device = Máquina
sheet-lane_power = Batería
sheet-lane_cup = Ventosa
sheet-axis_minutes = min
sheet-heard_title = Sonido del ensayo "{ $a }", { $b }
sheet-heard_told = Golpes del metrónomo: { $a }, tonos de ventilación: { $b }, ventanas de ventilación: { $c }.
sheet-heard_said = Avisos: { $a }, otros tonos: { $b }.
sheet-heard_wave = sonido del archivo
sheet-heard_first = primer golpe de un ciclo
sheet-heard_beat = golpe del metrónomo
sheet-heard_last = último golpe de un ciclo
sheet-heard_breath = tono de ventilación
sheet-heard_window = ventana de ventilación
sheet-heard_prompt = aviso
sheet-heard_tone = otro tono
sheet-by_hand = a mano
sheet-by_device = con máquina
sheet-hands_off = fuera del pecho
sheet-circulation = circulación
sheet-unknown = no se sabe
sheet-check = control
sheet-check_missed = control no marcado
sheet-shock = descarga
sheet-shock_untimed = descarga, momento no marcado
sheet-dose = dosis de { $a }
sheet-airway_in = vía aérea puesta
sheet-airway_lost = vía aérea perdida
sheet-breaths = ventilaciones dadas
sheet-cup_good = ventosa bien
sheet-cup_reseat = ventosa recolocada
sheet-cup_open = ventosa sin respuesta
sheet-swap = batería cambiada

sheet-pauses_head = Pausas
sheet-shocks_head = Descargas
sheet-fittings_head = Colocaciones de la máquina
sheet-drugs_head = Fármacos
sheet-cup_head = Revisiones de la ventosa
sheet-power_head = Cambios de batería
sheet-checks_head = Controles de ritmo
sheet-empty_pauses = – ninguna pausa marcada
sheet-empty_shocks = – ninguna descarga marcada
sheet-empty_fittings = – ninguna colocación marcada
sheet-empty_drugs = – ninguna dosis marcada
sheet-empty_cup = – no se pidió revisar la ventosa
sheet-empty_power = – ningún cambio de batería marcado
sheet-empty_checks = – ningún control marcado ni pendiente
sheet-by = Por
sheet-by_us = esta dotación
sheet-by_others = otros
sheet-pre = Antes
sheet-post = Después
sheet-peri = Alrededor
sheet-pause = Pausa
sheet-remark = Nota
sheet-moment_not_marked = momento no marcado
sheet-through = con compresiones durante ella
sheet-stacked = una de varias en una pausa
sheet-no_resume = sin compresiones después
sheet-pause_not_marked = pausa no marcada
sheet-running = Activa
sheet-windows = Fuera del pecho
sheet-together = En total
sheet-hands_before = Minuto previo, en el pecho
sheet-never_ran = – nunca estuvo activa
sheet-not_fitted = no puesta: { $a }
sheet-drug = Fármaco
sheet-doses = Dosis
sheet-doses_before = Antes de nosotros
sheet-drug_window = Ventana
sheet-no_drug_window = – ninguna
sheet-intervals = Intervalos
sheet-places = Debajo, dentro, encima
sheet-places_value = { $a }, { $b }, { $c }
sheet-interval_before = { $a } (desde antes de nosotros)
sheet-interval_pulse = { $a } (circulación en medio)
sheet-asked = Preguntado
sheet-answer = Respuesta
sheet-after = Después de
sheet-pack_out = Batería fuera
sheet-pack_in = Batería puesta
sheet-swapped = El cambio duró
sheet-swap_window = Plazo
sheet-inside = dentro
sheet-outside = pasado
sheet-off_around = Fuera del pecho
sheet-result = Resultado
sheet-rhythm = Ritmo
sheet-result_shock = descarga
sheet-result_no_shock = sin descarga
sheet-result_not_said = – no se dijo
sheet-result_missed = – control no marcado
sheet-no_pause = – no se sabe
sheet-went_on = ninguna, siguieron las compresiones

said-when = { $a } +{ $b }
said-head = { $a } · { $b }
said-drill = Una práctica: sin paciente.
said-rehearsal = Un ensayo: sin paciente.
said-test = Una prueba: sin paciente.
said-shortened = El archivo fue cambiado o está dañado: aquí está lo que se puede leer.
said-seal_waits = Aún sin sello: un registro se sella un minuto después del fin de su caso.
said-place = { $a } de { $b }
said-typed_of = copiados: { $a }
said-nothing_to_carry = No se marcó nada que se pueda pasar.
said-not_said = –
said-not_a_run = De ningún paciente
said-number = entrada { $a }
said-at_time = a las { $a }
said-revision = Como se enmendó, revisión { $a }, sellado.
said-revision_open = Como se enmendó, revisión { $a }, con cambios desde entonces: { $b }. Están guardados; cerrar el repaso los sella.
said-by_voice = por voz
said-by_voice_sure = por voz, con certeza de { $a }
said-to_confirm = Por confirmar
said-to_name = Una marca de hora sin nombre
said-was_at = marcado a las { $a }
said-was = marcado como: { $a }
said-added = añadido en un repaso
said-gone = sacado
said-confirmed = confirmado
said-gap = No se sabe de { $a } a { $b }
said-last_moved = Último cambio: movido, { $a }
said-last_gone = Último cambio: sacado, { $a }
said-last_replaced = Último cambio: en su lugar, { $a }
said-last_added = Último cambio: añadido, { $a }
said-last_confirmed = Último cambio: confirmado, { $a }
said-not_over = Este caso no está sellado. Se puede repasar un minuto después de su fin, o seis horas después de su última marca.
said-offset = { $a }: { $b } frente a este teléfono
said-rhythm_check = Control de ritmo
said-nothing_amended = como se registró: nada se enmendó
said-all_marks = Todas las marcas
said-mark_when = Cuándo
said-mark_what = Marca
said-clock_moved = { $a } o este teléfono se ajustó entre lecturas, no se elige ninguna: { $b } frente a este teléfono
said-keep_of = Guardar, exportar
said-keep_all = Todos los casos
said-is_held = Protegido: no se borra hasta que se quite la protección.
said-is_not_held = Sin proteger. Nada se borra por sí solo.
said-held = Protegido
said-waits = Aún sin remitir, o cambiado desde entonces.
said-handed_in = Remitido como está ahora.
said-not_put_away = Este caso aún no está guardado, lo hace Caso nuevo: hasta entonces no entra en ninguna entrega y no se puede borrar.
said-waiting = Casos por remitir: { $a }
said-nothing_waits = Todos los casos están remitidos como están ahora.
said-delete_means = Borrar quita el registro, y el PDF y las tablas que se escribieron de él si siguen donde se pusieron. Las entregas y otras copias quedan. Aquí quedan la huella, el número de líneas y el día.
said-ask_delete = ¿Borrar este caso?
said-ask_delete_all = ¿Borrar { $a } casos? Quedan: { $b }
said-deleted = Borrado.
said-not_read = Archivos que no se pueden leer y quedan como están: { $a }
said-deleted_all = Casos borrados: { $a }. Conservados, por estar protegidos o en marcha: { $b }
said-written = Escrito: { $a }
said-hand_in_written = Archivo para la oficina escrito, casos en él: { $b }. Sigue en este teléfono: { $a }

## Times to carry over: our own words for the values of the care record

carry-yes = Sí
carry-no = No
carry-after_arrival = Sí, después de llegar la dotación
carry-compressions = Compresiones torácicas
carry-breaths = Ventilaciones
carry-defibrillation = Desfibrilación
carry-aed_none = No
carry-aed_applied = Sí, sin descarga
carry-aed_shocked = Sí, con descarga
carry-bystander = Testigo
carry-family = Familiar
carry-hcp = Personal sanitario, no interviniente
carry-by_hand = Compresiones a mano
carry-by_band = Compresiones con máquina de banda
carry-by_piston = Compresiones con máquina de pistón
carry-by_piston_arm = Compresiones con máquina de pistón en un brazo
carry-by_other = Compresiones con otra máquina
carry-by_device = Compresiones con máquina
carry-with_breaths = Compresiones con pausas para ventilar
carry-mask = Ventilaciones con bolsa y mascarilla
carry-airway = Ventilaciones por vía aérea avanzada
carry-vf = Fibrilación ventricular
carry-pvt = Taquicardia ventricular sin pulso
carry-pea = Actividad eléctrica sin pulso
carry-asystole = Asistolia
carry-aed_shock = Sin nombre, el DEA indicó descarga
carry-aed_no_shock = Sin nombre, el DEA indicó no descargar
carry-other_rhythm = Ritmo sin código propio
carry-rosc_none = No
carry-rosc_before = Sí, antes de llegar al hospital
carry-rosc_at = Sí, en la entrega
carry-rosc_long = Sí, durante 20 minutos seguidos
carry-stop_dnr = Orden de no reanimar
carry-stop_control = Orden del control médico
carry-stop_obvious = Signos evidentes de muerte
carry-stop_unable = Físicamente imposible seguir
carry-stop_protocol = Protocolo cumplido
carry-stop_rosc = Volvió la circulación
carry-end_rosc = Circulación en el lugar
carry-end_field = Murió en el lugar
carry-end_hospital = La reanimación sigue en el hospital
carry-adrenaline = Adrenalina
carry-amiodarone = Amiodarona
carry-lidocaine = Lidocaína
carry-bicarbonate = Bicarbonato sódico
carry-calcium_chloride = Cloruro cálcico
carry-calcium_gluconate = Gluconato cálcico
carry-magnesium = Sulfato de magnesio
carry-atropine = Atropina
carry-naloxone = Naloxona
carry-norepinephrine = Noradrenalina
carry-vasopressin = Vasopresina
carry-antiarrhythmic = Amiodarona o lidocaína
carry-calcium = Calcio
carry-glucose = Glucosa
carry-iv = En una vena
carry-io = En hueso
carry-im = En músculo
carry-in = Por la nariz
carry-et = Por el tubo
carry-shock = Descarga
carry-shock_aed = Descarga con DEA
carry-shock_manual = Descarga, decidió la dotación
carry-access_iv = Acceso en una vena
carry-access_io = Acceso en hueso
carry-opa = Cánula por la boca
carry-npa = Cánula por la nariz
carry-sga = Vía aérea supraglótica
carry-ett = Tubo en la tráquea
carry-cric = Vía aérea por el frente del cuello
carry-airway_unnamed = Vía aérea
carry-waveform = Onda de CO2
carry-digital = Número de CO2
carry-colorimetric = Color de CO2
carry-auscultation = Auscultación
carry-chest_rise = Elevación del tórax
carry-visual = A la vista
carry-drug = Fármaco
carry-source_button = Botón
carry-source_voice = Voz
carry-source_sensor = Sensor
carry-source_import = Otro sistema
carry-source_review = Repaso
carry-clock_dispatch = Reloj de la central
carry-clock_monitor = Reloj del monitor
carry-clock_wall = Reloj de pared
carry-clock_other = Otro reloj
carry-ask_crew = Solo lo sabe el equipo: complételo
carry-ask_told = Según se dijo, no visto
carry-ask_voice = Oído como marca de voz
carry-ask_which = La marca no dice qué código
carry-ask_twice = Marcado más de una vez
carry-ask_others = Dado por otros
carry-ask_derived = Se deduce de varias marcas
carry-ask_tries = Más de 10 intentos
carry-ask_strength = El código nombra el fármaco, no su concentración
carry-ask_first = La dotación confirma el primer ritmo
carry-fraction = Fracción de compresión desde el reconocimiento
carry-upper_bound = No se marcaron las pausas de ventilación: un máximo
carry-pause = Tiempo fuera del pecho
carry-gas = Dióxido de carbono al final de la espiración
carry-rhythm = Ritmo
carry-first_rhythm = Primer ritmo
carry-circulation = Retorno de la circulación
carry-end_of_event = Fin del evento
carry-subject = Paciente del caso, sin identificar
carry-not_named = Sin nombre
carry-by_marks = Según marcas, con cerca de un segundo de precisión

## El informe de muchos casos. No clasifica a nadie ni puntúa ningún caso; las líneas discontinuas son cifras de otros.

trend-title = A lo largo del tiempo
trend-notice = Carrybeat no es un producto sanitario ni está autorizado como tal. No mide nada: cada cifra sale de las marcas que anotaron las dotaciones. Para formación y revisión por dotaciones formadas; aquí no se puntúa ningún caso ni se clasifica a ninguna dotación.
trend-precision = Según marcas, ± 1 s.
trend-read = Archivos leídos: { $a }. Registros en las tablas: { $b }. Omitidos, con el motivo más abajo: { $c }.
trend-foot = A lo largo del tiempo, según las marcas de las dotaciones
trend-unit_only = Solo registros de la unidad { $a }.
trend-no_group = No hay ningún caso ni ninguna práctica que mostrar.
trend-group_run = Casos, definiciones { $a }
trend-group_drill = Prácticas, definiciones { $a }
trend-apart = Las prácticas van aparte de los casos. Los registros que nombran otra versión de las definiciones tienen sus propios gráficos: nunca se mezclan cifras de dos versiones.
trend-group_line = Registros: { $a }, de { $b } a { $c }.
trend-unended = De estos, sin final y sin sello, medidos hasta su última línea: { $a }.
trend-tables_only = Ensayos y pruebas, solo en las tablas: { $a }.
trend-damaged = Registros con líneas cambiadas o dañadas, solo en las tablas: { $a }.
trend-summary = Medianas con cuartiles
trend-col_measure = Medida
trend-col_runs = Registros
trend-col_median = Mediana
trend-col_quartiles = Cuartiles
trend-col_trust = Marcas
trend-col_when = Cuándo
trend-col_value = Valor
trend-as_table = Como tabla
trend-col_file = Archivo
trend-col_what = Qué
trend-col_detail = Encontrado, permitido, qué hacer
trend-fraction = Fracción de compresión
trend-fraction_bound = Fracción de compresión, cotas superiores: pausas de ventilación sin marcar
trend-fraction_seen = Fracción de compresión, parada vista por la dotación
trend-longest = Pausa más larga
trend-fitting = Fuera del pecho en la primera colocación de la máquina
trend-pre = Fuera del pecho antes de las descargas
trend-post = Fuera del pecho después de las descargas
trend-peri = Fuera del pecho en torno a las descargas
trend-first_compression = Hasta la primera compresión
trend-first_shock = Hasta la primera descarga
trend-first_drug = Hasta la primera dosis
trend-above_floor = Casos con una fracción de compresión desde 0,60
trend-doses_inside = Intervalos entre dosis dentro de su ventana
trend-unit_seconds = segundos
trend-unit_share = proporción
trend-by_run = Cada punto es un registro.
trend-by_month = Cada punto es la mediana de un mes.
trend-by_quarter = Cada punto es la mediana de un trimestre; los meses tienen de media menos de diez registros.
trend-share_by_month = Cada punto es la proporción de un mes.
trend-share_by_quarter = Cada punto es la proporción de un trimestre; los meses tienen de media menos de diez registros.
trend-median_line = { $a }: mediana
trend-whole_line = { $a }: todo junto
trend-spread_line = Mediana { $a }, cuartiles { $b }; registros: { $c }.
trend-share_line = { $a } de { $b }: { $c }.
trend-trust_line = Hasta dónde llegan las marcas: parte conocida de las ventanas { $a }; controles marcados { $b }; enmiendas aún sin sello: { $c }.
trend-trust_short = conocido { $a }, controles { $b }
trend-at_most = { $a } (permitido: hasta { $b })
trend-at_least = { $a } (permitido: desde { $b })
trend-signal_no = Las reglas no encuentran señal: racha más larga a un lado de la mediana { $a }, cruces { $b }.
trend-signal_yes = Las reglas encuentran una señal, algo distinto del azar: racha más larga a un lado de la mediana { $a }, cruces { $b }.
trend-signal_none = Todos los puntos están en su mediana: las reglas no dicen nada.
trend-outside_no = Ningún punto está fuera de sus límites.
trend-outside_yes = Puntos fuera de sus límites: { $a }.
trend-few = Menos de { $a } puntos: puntos sin límites y sin regla. Tan pocos no distinguen un cambio del azar.
trend-yard_median = { $a }: mediana, { $b }
trend-yard_before = { $a }: antes de entrenar, { $b }
trend-yard_after = { $a }: después de entrenar, { $b }
trend-yard_manikin = { $a }: con maniquí, { $b }
trend-yard_figure = { $a }: { $b }
trend-guideline = soporte vital básico 2020
trend-rules_head = Según qué reglas
trend-rules_run = Gráficos de rachas: es señal una racha a un lado de la mediana más larga que log2(n), redondeado, más 3, o menos cruces que el percentil 5 de n - 1 tiradas de moneda; los puntos en la mediana no cuentan (Anhøj y Olesen 2014). Desde { $a } puntos.
trend-rules_share = Proporciones: los límites están a tres errores estándar de la proporción de todo, recortados a 0 y 1 (gráfico p de Shewhart). Desde { $a } puntos.
trend-rules_yards = Las líneas discontinuas son cifras publicadas de otros servicios, medidas como en esos artículos. No son metas.
trend-left_head = Omitidos
trend-left_none = No se omitió nada.
trend-copies_head = Copias descartadas
trend-copies_none = Ningún registro estaba dos veces.
trend-gone_head = Nunca entregados
trend-gone_none = No se sabe que falte nada.
trend-more = { $a } más están en { $b }.
trend-why_foreign = ni registro ni entrega
trend-why_newer = escrito por una aplicación más nueva
trend-why_half = a medio escribir
trend-why_damaged = dañado
trend-why_clock = reloj con años de error
trend-why_unreadable = no se puede leer
trend-why_empty = nada que medir
trend-copy_same = los mismos bytes
trend-copy_earlier = un estado anterior
trend-copy_differs = dos copias que difieren: compárelas
trend-gone_hand_in = una entrega a la que sigue otra
trend-gone_unread = no se pudo leer cuando el teléfono entregó
trend-gone_waiting = en una carpeta de casos, no entregado tal como está
trend-gone_lost = entregado una vez, en ninguno de los archivos
