/* SPDX-License-Identifier: GPL-3.0-or-later */

/* Moves a lesson from one tabulated state to another. Every figure comes out of the table in the
   page, which the engine made; nothing is worked out here. */
(function () {
    'use strict';
    var data = JSON.parse(document.getElementById('lesson-data').textContent);
    var bytes = atob(data.answers);
    var sliders = [];
    var presets = document.querySelectorAll('[data-preset]');

    function element(id) {
        return document.getElementById('lesson-' + id);
    }

    /* The whole number at a place of the table: two bytes, the low one first. */
    function entry(place) {
        var number = bytes.charCodeAt(2 * place) + 256 * bytes.charCodeAt(2 * place + 1);
        return number > 32767 ? number - 65536 : number;
    }

    /* The record of the stops that the sliders stand at: its figures, then its flags. */
    function record() {
        var length = data.fields.length + 1, first = 0, values = [];
        sliders.forEach(function (slider, i) {
            first += Number(slider.value) * data.axes[i].stride;
        });
        for (var k = 0; k < length; k++)
            values.push(entry(first * length + k));
        return values;
    }

    function words(field, value) {
        if (value === data.nothing)
            return 'not determined';
        return (value / field.per_unit).toFixed(field.decimals) + '\u00a0' + field.unit;
    }

    function show(id, text) {
        if (element(id))
            element(id).textContent = text;
    }

    function hide(id, hidden) {
        element(id).setAttribute('visibility', hidden ? 'hidden' : 'inherit');
    }

    /* Flags: two bits for the limit, then two for each device. */
    function sight(flags, device) {
        return data.sights[flags >> (2 + 2 * device) & 3];
    }

    function drawSupply(supply, count) {
        for (var i = 0; i < count; i++)
            hide('supply-' + i, i !== supply);
        data.plane.emf[supply].forEach(function (end, line) {
            var ray = element('to-l' + (line + 1));
            if (ray) {
                ray.setAttribute('x1', end[0]);
                ray.setAttribute('y1', end[1]);
            }
        });
    }

    function drawNeutral(along, across) {
        var there = along !== data.nothing && across !== data.nothing;
        var x = data.plane.x + along / 10 * data.plane.pixels_per_v;
        var y = data.plane.y - across / 10 * data.plane.pixels_per_v;
        hide('neutral', !there);
        hide('no-point', there);
        if (!there)
            return;
        ['drift', 'to-l1', 'to-l2', 'to-l3'].forEach(function (id) {
            if (element(id)) {
                element(id).setAttribute('x2', x);
                element(id).setAttribute('y2', y);
            }
        });
        element('point').setAttribute('transform', 'translate(' + x + ' ' + y + ')');
    }

    function sentence(values, flags, place) {
        var text = 'PEN open ' + place + ': ';
        data.spoken.forEach(function (spoken) {
            data.fields.forEach(function (field, i) {
                if (field.id === spoken.id)
                    text += spoken.lead + words(field, values[i]) + ', ';
            });
        });
        text += data.touches[flags & 3] + '.';
        data.devices.forEach(function (name, i) {
            text += ' Device \'' + name + '\' ' + sight(flags, i) + '.';
        });
        return text;
    }

    function update() {
        var values = record(), flags = values[values.length - 1], place = '';
        sliders.forEach(function (slider, i) {
            var stop = Number(slider.value), label = data.axes[i].stops[stop];
            show('stop-' + i, label);
            slider.setAttribute('aria-valuetext', label);
            if (data.axes[i].supply)
                drawSupply(stop, data.axes[i].stops.length);
            if (data.axes[i].breaks)
                place = label;
        });
        data.fields.forEach(function (field, i) {
            show(field.id, words(field, values[i]));
        });
        drawNeutral(values[0], values[1]);
        show('limit', data.touches[flags & 3]);
        element('limit').className = (flags & 3) === 1 ? 'within' : 'over';
        data.devices.forEach(function (name, i) {
            show('device-' + i, sight(flags, i));
        });
        show('summary', sentence(values, flags, place));
        presets.forEach(function (button, k) {
            var here = data.presets[k].every(function (stop, i) {
                return stop === Number(sliders[i].value);
            });
            button.setAttribute('aria-pressed', String(here));
        });
    }

    data.axes.forEach(function (axis, i) {
        sliders.push(element('axis-' + i));
        sliders[i].addEventListener('input', update);
    });
    presets.forEach(function (button, k) {
        button.addEventListener('click', function () {
            data.presets[k].forEach(function (stop, i) {
                sliders[i].value = stop;
            });
            update();
        });
    });
    element('controls').className = '';
    update();
}());
